/** What the cells of the notebook share: reactive values, controls, workers, numbered figures and tables. */
import type { Rig } from '@holdfast/sim';
import { Runtime } from '@observablehq/runtime';
import type { Report } from '../reports/report.ts';
import { element } from './element.ts';
import { type LiveFigure, liveFigure } from './figure-box.ts';
import type { SavedState } from './state-link.ts';
import { type LiveTable, liveTable } from './table-box.ts';
import { Crew, type Team } from './work/crew.ts';

/** Lets a computation that nobody needs any more be given up. */
export const invalidation = 'invalidation';

// Inputs of a value are named, so their types are known to the cell alone.
// biome-ignore lint/suspicious/noExplicitAny: a cell names its inputs and states their types.
type Compute = (...inputs: any[]) => unknown;

export class Book {
  readonly #crew = new Crew();
  /** The report that stands in the page, where there is one. */
  readonly printed: Report | undefined;
  readonly #restored: SavedState | undefined;
  readonly #module = new Runtime().module();
  readonly #controls = new Map<string, { readonly value: unknown }>();
  readonly #changed: (() => void)[] = [];
  readonly #views = new Map<string, View>();
  #figures = 0;
  #tables = 0;

  constructor(printed: Report | undefined, restored: SavedState | undefined) {
    this.printed = printed;
    this.#restored = restored;
  }

  /** A value by name, computed again whenever one of its inputs changes; a generator gives one value after the other. */
  define(name: string, inputs: readonly string[], compute: Compute): void {
    this.#module.variable().define(name, [...inputs], compute);
  }

  /** Do something on the page whenever one of the inputs changes. */
  show(inputs: readonly string[], draw: Compute): void {
    const rejected = (error: Error) => {
      // What a missing value spoils says so beside the value itself.
      if (error.name !== 'AbortError') console.error(error);
    };
    this.#module.variable({ rejected }).define(null, [...inputs], draw);
  }

  /** An element whose text follows the inputs. */
  text(inputs: readonly string[], words: Compute): HTMLElement {
    const span = element('span', { class: 'live' });
    this.show(inputs, (...values: unknown[]) => {
      const made = words(...values) as string | Node | (string | Node)[];
      span.replaceChildren(...(Array.isArray(made) ? made : [made]));
    });
    return span;
  }

  /** What a control was set to when the link was made. */
  restored(name: string): unknown {
    return this.#restored?.controls[name];
  }

  get restoredRig(): unknown {
    return this.#restored?.rig;
  }

  /** Its value goes into links under this name. */
  keep(name: string, control: EventTarget & { readonly value: unknown }): void {
    this.#controls.set(name, control);
    control.addEventListener('input', () => {
      for (const tell of this.#changed) tell();
    });
  }

  onChange(tell: () => void): void {
    this.#changed.push(tell);
  }

  controlValues(): Record<string, unknown> {
    return Object.fromEntries([...this.#controls].map(([name, control]) => [name, control.value]));
  }

  figure(file: string): LiveFigure {
    return liveFigure(++this.#figures, file);
  }

  table<Row>(file: string): LiveTable<Row> {
    return liveTable(++this.#tables, file);
  }

  /** The workers, who serve the chapter in view before others. */
  team(chapter: string): Team {
    return this.#crew.team(() => this.#views.get(chapter)?.isInView ?? false);
  }

  /** Long work of a chapter waits until it has come into view. */
  async seen(chapter: string): Promise<void> {
    await this.#views.get(chapter)?.seen;
  }

  /**
   * Watch a chapter: its own value of the rig, `rigName(chapter)`, follows the rig at once while it is in view, else when it
   * comes into view, or a while later, one chapter after the other, so that the page can be printed whole.
   */
  watch(part: Element, chapter: string): void {
    const view = new View(part, () => this.#crew.lookAgain());
    const turn = this.#views.size;
    this.#views.set(chapter, view);
    this.define(rigName(chapter), ['rig', invalidation], async (rig: Rig, outdated: Promise<unknown>) => {
      if (view.isInView) return rig;
      const signal = signalOf(outdated);
      await Promise.race([view.next(), settled(signal, 2000 + 1500 * turn)]);
      signal.throwIfAborted();
      return rig;
    });
  }
}

/** Whether a part of the page is in view, or near it. */
class View {
  isInView = false;
  /** Once it has come into view. */
  readonly seen: Promise<void>;
  #waiting: (() => void)[] = [];

  constructor(part: Element, changed: () => void) {
    this.seen = this.next();
    new IntersectionObserver(
      (entries) => {
        this.isInView = entries[entries.length - 1].isIntersecting;
        changed();
        if (!this.isInView) return;
        for (const go of this.#waiting) go();
        this.#waiting = [];
      },
      { rootMargin: '200px' },
    ).observe(part);
  }

  /** The next time that it comes into view; at once when it is. */
  next(): Promise<void> {
    return new Promise((resolve) => {
      if (this.isInView) resolve();
      else this.#waiting.push(resolve);
    });
  }
}

/** A chapter's own value of the rig. */
export const rigName = (chapter: string): string => `rig-of-${chapter}`;

/** A signal that is aborted when the runtime says that a value is out of date. */
export function signalOf(outdated: Promise<unknown>): AbortSignal {
  const controller = new AbortController();
  void outdated.then(() => controller.abort(new DOMException('a newer value is wanted', 'AbortError')));
  return controller.signal;
}

/** Waits until no newer value has come for a moment: no work is begun while a control is being dragged. */
export function settled(signal: AbortSignal, ms = 180): Promise<void> {
  return new Promise((resolve, reject) => {
    const timer = setTimeout(resolve, ms);
    signal.addEventListener('abort', () => {
      clearTimeout(timer);
      reject(signal.reason);
    });
  });
}
