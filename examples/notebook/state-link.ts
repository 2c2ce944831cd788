/** The state of the page in the fragment of its address: the rig as its file says it, and the controls by name. */
export interface SavedState {
  readonly rig: unknown;
  readonly controls: Readonly<Record<string, unknown>>;
}

const opening = '#state=';
/** No rig comes near this; a longer fragment is not a state. */
const mostLetters = 200_000;

/** `#state=...`: letters that need no escape in an address. */
export function stateFragment(state: SavedState): string {
  const bytes = new TextEncoder().encode(JSON.stringify(state));
  const text = btoa(Array.from(bytes, (byte) => String.fromCharCode(byte)).join(''));
  return opening + text.replaceAll('+', '-').replaceAll('/', '_').replaceAll('=', '');
}

/** The state of a fragment; `undefined` for one that holds none, or none that can be read. */
export function stateOf(fragment: string): SavedState | undefined {
  if (!fragment.startsWith(opening) || fragment.length > mostLetters) return undefined;
  try {
    const text = atob(fragment.slice(opening.length).replaceAll('-', '+').replaceAll('_', '/'));
    const bytes = Uint8Array.from(text, (letter) => letter.charCodeAt(0));
    const state = JSON.parse(new TextDecoder().decode(bytes)) as Partial<SavedState> | null;
    if (typeof state !== 'object' || state === null) return undefined;
    const { rig, controls } = state;
    return { rig, controls: typeof controls === 'object' && controls !== null ? controls : {} };
  } catch {
    return undefined;
  }
}
