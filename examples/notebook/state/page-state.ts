/**
 * The state of the page as one uses it: saved in the address and on this machine while one types, with undo
 * and redo. Each change is a state of its own in the browser's history, so that Back and Forward move between
 * them without a reload.
 */
import { placeOf, type SavedState, stateFragment, stateOf, stateOfText } from './state-link.ts';

/** A control whose value is kept; setting the value shows it. It tells of changes by the event `input`. */
export interface Kept extends EventTarget {
  value: unknown;
}

const storageName = 'holdfast';
/** A change is complete when nothing follows it for so long. */
const completeMs = 250;
/** Changes that can be undone: a page that is open for a night must not grow. */
const mostUndone = 100;
/** The rig is kept under this name, beside the controls. */
const rigName = 'rig';

export class PageState {
  readonly #controls = new Map<string, Kept>();
  readonly #start = new Map<string, unknown>();
  readonly #restored: SavedState | undefined;
  /** Names the page that a saved state belongs to: a page with a report in it starts from that. */
  readonly #page: string;
  readonly #told: (() => void)[] = [];
  #past: string[] = [];
  #future: string[] = [];
  #now = '';
  #first = '';
  #waiting: ReturnType<typeof setTimeout> | undefined;

  constructor(page: string) {
    this.#page = page;
    this.#restored = stateOf(location.hash) ?? readStored(page);
  }

  /** What a control was set to when the state was saved. */
  restored(name: string): unknown {
    return name === rigName ? this.#restored?.rig : this.#restored?.controls[name];
  }

  get isRestored(): boolean {
    return this.#restored !== undefined;
  }

  /** @param start  what it shows on a page that nothing was saved of */
  keep(name: string, control: Kept, start: unknown): void {
    this.#controls.set(name, control);
    this.#start.set(name, start);
    control.addEventListener('input', () => {
      clearTimeout(this.#waiting);
      this.#waiting = setTimeout(() => this.#complete(), completeMs);
    });
  }

  /** Once all controls are set up. */
  begin(): void {
    this.#first = this.#now = this.#text();
    if (this.#restored !== undefined) this.#write('replaceState', placeOf(location.hash));
    addEventListener('popstate', () => {
      const state = stateOf(location.hash);
      const place = placeOf(location.hash);
      if (state === undefined && place !== '') this.#write('replaceState', place);
      else this.#move(state === undefined ? this.#first : JSON.stringify(state));
    });
    // A phone may never come back to a tab that it has left.
    addEventListener('pagehide', () => this.#complete());
    document.addEventListener('visibilitychange', () => {
      if (document.visibilityState === 'hidden') this.#complete();
    });
  }

  get canUndo(): boolean {
    return this.#past.length > 0;
  }

  get canRedo(): boolean {
    return this.#future.length > 0;
  }

  /** Told whenever undo or redo may have become possible. */
  onChange(tell: () => void): void {
    this.#told.push(tell);
  }

  undo(): void {
    this.#complete();
    this.#step(this.#past, this.#future);
  }

  redo(): void {
    this.#complete();
    this.#step(this.#future, this.#past);
  }

  /** Everything as on a page that nothing was saved of; can be undone like any change. */
  startAfresh(): void {
    this.#complete();
    const { [rigName]: rig, ...controls } = Object.fromEntries(this.#start);
    this.#remember();
    this.#apply(JSON.stringify({ rig, controls }));
    this.#write('pushState');
    removeStored();
  }

  /** Go to a part of the page; the state stays in the address. */
  goTo(place: string): void {
    this.#complete();
    this.#write('pushState', place);
    const part = document.getElementById(place);
    if (part === null) return;
    part.scrollIntoView();
    part.tabIndex = -1;
    part.focus({ preventScroll: true });
  }

  /** A link to the state as it is. */
  link(): string {
    this.#complete();
    const state = stateOfText(this.#now) as SavedState;
    return new URL(stateFragment(state), location.href).href;
  }

  #complete(): void {
    if (this.#takeTyped()) this.#write('pushState');
  }

  /** @returns whether anything was changed since the last complete state */
  #takeTyped(): boolean {
    clearTimeout(this.#waiting);
    const text = this.#text();
    if (text === this.#now) return false;
    this.#remember();
    this.#now = text;
    return true;
  }

  /** The present state becomes the last one that undo comes back to. */
  #remember(): void {
    this.#past.push(this.#now);
    if (this.#past.length > mostUndone) this.#past.shift();
    this.#future = [];
  }

  #step(from: string[], to: string[]): void {
    const state = from.pop();
    if (state === undefined) return;
    to.push(this.#now);
    this.#apply(state);
    this.#write('pushState');
  }

  /** To a state of the browser's history. */
  #move(text: string): void {
    this.#takeTyped();
    if (text === this.#now) return;
    this.#remember();
    this.#apply(text);
    store(this.#page, this.#now);
    this.#tell();
  }

  #apply(text: string): void {
    const state = stateOfText(text);
    for (const [name, control] of this.#controls) {
      const wanted = (name === rigName ? state?.rig : state?.controls[name]) ?? this.#start.get(name);
      if (JSON.stringify(control.value) === JSON.stringify(wanted)) continue;
      control.value = wanted;
      control.dispatchEvent(new CustomEvent('input'));
    }
    clearTimeout(this.#waiting);
    this.#now = this.#text();
  }

  #write(how: 'pushState' | 'replaceState', place = ''): void {
    history[how](null, '', stateFragment(stateOfText(this.#now) as SavedState, place));
    store(this.#page, this.#now);
    this.#tell();
  }

  #tell(): void {
    for (const tell of this.#told) tell();
  }

  #text(): string {
    const values = Object.fromEntries([...this.#controls].map(([name, control]) => [name, control.value]));
    const { [rigName]: rig, ...controls } = values;
    return JSON.stringify({ rig, controls });
  }
}

/** The store may be forbidden or full: the address holds the state, too. */
function store(page: string, state: string): void {
  try {
    localStorage.setItem(storageName, JSON.stringify({ page, state }));
  } catch {}
}

function removeStored(): void {
  try {
    localStorage.removeItem(storageName);
  } catch {}
}

function readStored(page: string): SavedState | undefined {
  try {
    const stored = JSON.parse(localStorage.getItem(storageName) ?? '{}') as { page?: string; state?: string };
    return stored.page === page && stored.state !== undefined ? stateOfText(stored.state) : undefined;
  } catch {
    return undefined;
  }
}
