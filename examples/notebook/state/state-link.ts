/**
 * The state of the page in the fragment of its address: the rig as its file says it, and the controls by
 * name.
 */
export interface SavedState {
  readonly rig: unknown;
  readonly controls: Readonly<Record<string, unknown>>;
}

const opening = '#state=';
/** No rig comes near this; a longer fragment is not a state. */
const mostLetters = 200_000;

/** `#state=...&at=place`: letters that need no escape in an address. */
export function stateFragment(state: SavedState, at = ''): string {
  const bytes = new TextEncoder().encode(JSON.stringify(state));
  const text = btoa(Array.from(bytes, (byte) => String.fromCharCode(byte)).join(''));
  const letters = text.replaceAll('+', '-').replaceAll('/', '_').replaceAll('=', '');
  return `${opening}${letters}${at && `&at=${encodeURIComponent(at)}`}`;
}

/** The state of a fragment; `undefined` for one that holds none, or none that can be read. */
export function stateOf(fragment: string): SavedState | undefined {
  if (!fragment.startsWith(opening) || fragment.length > mostLetters) return undefined;
  try {
    const [letters] = fragment.slice(opening.length).split('&');
    const text = atob(letters.replaceAll('-', '+').replaceAll('_', '/'));
    const bytes = Uint8Array.from(text, (letter) => letter.charCodeAt(0));
    return stateOfText(new TextDecoder().decode(bytes));
  } catch {
    return undefined;
  }
}

/** @throws SyntaxError when the text is no JSON */
export function stateOfText(text: string): SavedState | undefined {
  const state = JSON.parse(text) as Partial<SavedState> | null;
  if (typeof state !== 'object' || state === null) return undefined;
  const { rig, controls } = state;
  return { rig, controls: typeof controls === 'object' && controls !== null ? controls : {} };
}

/** The place in the page that a fragment names: `#why-a-ring`, or beside a state. */
export function placeOf(fragment: string): string {
  const [, beside] = /&at=(.*)$/.exec(fragment) ?? [];
  const name = fragment.startsWith(opening) ? (beside ?? '') : fragment.slice(1);
  try {
    return decodeURIComponent(name);
  } catch {
    return '';
  }
}
