/** What the cells of the notebook share: reactive values, controls, workers, numbered figures and tables. */
import type { Rig } from '@holdfast/sim';
import { Runtime } from '@observablehq/runtime';
import type { Report } from '../reports/report.ts';
import { onlyLastRound } from './compute/rounds.ts';
import { element } from './element.ts';
import { type LiveFigure, liveFigure } from './figure-box.ts';
import { promptTask } from './next-task.ts';
import { Place } from './place.ts';
import type { RigForm } from './rig-form/rig-form.ts';
import { sightOf } from './sight.ts';
import { type Kept, PageState } from './state/page-state.ts';
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
  readonly state: PageState;
  readonly #module = promptRuntime().module();
  readonly #views = new Map<string, View>();
  readonly #sights = new Map<string, () => boolean>();
  #figures = 0;
  #tables = 0;

  /** The rig as a form, shown in chapter 1 and used by the first screen. */
  rigForm!: RigForm;
  /** How many frames are simulated at most, as the first answers need it: its value is `frames`. */
  frameChoice!: HTMLElement;
  #place: Place | undefined;
  readonly #places: Place[] = [];

  constructor(printed: Report | undefined) {
    this.printed = printed;
    this.state = new PageState(printed === undefined ? '' : JSON.stringify(printed.rig));
  }

  /**
   * What `setUp` shows is answered for by this part of the page: older answers look older, failures are told
   * there.
   */
  within<Made>(box: HTMLElement, setUp: () => Made): Made {
    const outer = this.#place;
    this.#place = new Place(box);
    this.#places.push(this.#place);
    const made = setUp();
    this.#place = outer;
    return made;
  }

  /**
   * A value by name, computed again whenever one of its inputs changes; a generator gives one value after the
   * other.
   */
  define(name: string, inputs: readonly string[], compute: Compute): void {
    this.#module.variable().define(name, [...inputs], compute);
  }

  /** Do something on the page whenever one of the inputs changes. */
  show(inputs: readonly string[], draw: Compute): void {
    const place = this.#place;
    const who = {};
    const observer = {
      pending: () => place?.waits(who),
      fulfilled: () => place?.shows(who),
      rejected: (error: Error) => place?.fails(who, error),
    };
    this.#module.variable(observer).define(null, [...inputs], draw);
  }

  /** Tell why a value could not be computed, and when it could again. */
  watchFailure(name: string, tell: (error: Error | undefined) => void): void {
    const observer = { fulfilled: () => tell(undefined), rejected: tell };
    this.#module.variable(observer).define(null, [name], (value: unknown) => value);
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

  /** A control whose value is part of the page's state, and what it is set to at first. */
  keep(name: string, control: Kept, start: unknown): void {
    this.state.keep(name, control, start);
  }

  figure(file: string, room: number): LiveFigure {
    const figure = liveFigure(++this.#figures, file, room);
    this.#sights.set(file, figure.isSeen);
    return figure;
  }

  table<Row>(file: string): LiveTable<Row> {
    return liveTable(++this.#tables, file);
  }

  /**
   * The workers. They serve the chapter in view before others, and there what is on the screen itself.
   *
   * @param chapter  one that there is not is never in view
   * @param shownBy  name of the figure, or of the part told to `lookAt`, that shows the answer
   */
  team(chapter: string, shownBy = ''): Team {
    return this.#crew.team(() => {
      if (!this.#views.get(chapter)?.isInView) return 0;
      return this.#sights.get(shownBy)?.() ? 2 : 1;
    });
  }

  /** Whether this part is on the screen decides when those are served whose answers it shows. */
  lookAt(name: string, part: Element): void {
    this.#sights.set(name, sightOf(part));
  }

  /** Resolves when a chapter is in view, or when the signal is aborted. */
  async inView(chapter: string, signal: AbortSignal): Promise<void> {
    await this.#views.get(chapter)?.next(signal);
  }

  /** Resolves when a chapter has been in view, or when the signal is aborted: long work waits for it. */
  async seen(chapter: string, signal: AbortSignal): Promise<void> {
    await this.#views.get(chapter)?.seen(signal);
  }

  /**
   * Watch a chapter: its own value of the rig, `rigName(chapter)`, follows the rig at once while it is in
   * view, else when it comes into view: what nobody reads takes no power.
   */
  watch(part: Element, chapter: string): void {
    const view = new View(part, () => this.#crew.lookAgain());
    this.#views.set(chapter, view);
    this.define(rigName(chapter), ['rig', invalidation], async (rig: Rig, outdated: Promise<unknown>) => {
      const signal = signalOf(outdated);
      await view.next(signal);
      signal.throwIfAborted();
      return rig;
    });
  }

  /**
   * Everything computed to the end, read or not, as on paper; no time is spent on first looks.
   *
   * @param tell  is told how many computations run or wait
   */
  async whole(tell: (left: number) => void): Promise<void> {
    const views = [...this.#views.values()];
    onlyLastRound(true);
    for (const view of views) view.isAllRead = true;
    this.#crew.lookAgain();
    // What follows an answer may wait a moment before it asks the workers: only a lasting quiet is the end.
    for (let quiet = 0; quiet < quietTurns; quiet++) {
      await new Promise((resolve) => setTimeout(resolve, 50));
      if (this.#crew.open > 0 || this.#places.some(({ isWaiting }) => isWaiting)) quiet = 0;
      tell(this.#crew.open);
    }
    onlyLastRound(false);
    for (const view of views) view.isAllRead = false;
  }
}

/** A change is followed in the next task, not at the next frame: workers compute while the page is drawn. */
function promptRuntime(): Runtime {
  const runtime = new Runtime();
  runtime._computeSoon = () => promptTask().then(() => runtime._computeNow());
  return runtime;
}

/** Turns of the event loop: longer than any answer waits before the next question. */
const quietTurns = 20;

/** Whether a part of the page is in view, or near it. */
class View {
  readonly #isNear: () => boolean;
  #isAllRead = false;
  #isSeen = false;
  /** Emptied of those whose signal is aborted: a page that is open for a night must not grow. */
  readonly #waiting = new Set<() => void>();

  constructor(part: Element, changed: () => void) {
    this.#isNear = sightOf(part, 200, () => {
      changed();
      this.#goOn();
    });
  }

  get isInView(): boolean {
    return this.#isNear() || this.#isAllRead;
  }

  /** As if the whole page were in view. */
  set isAllRead(isAllRead: boolean) {
    this.#isAllRead = isAllRead;
    this.#goOn();
  }

  #goOn(): void {
    if (!this.isInView) return;
    this.#isSeen = true;
    for (const go of this.#waiting) go();
  }

  /** Resolves when it is in view, or when the signal is aborted. */
  next(signal: AbortSignal): Promise<void> {
    return new Promise((resolve) => {
      const go = () => {
        this.#waiting.delete(go);
        signal.removeEventListener('abort', go);
        resolve();
      };
      this.#waiting.add(go);
      signal.addEventListener('abort', go);
      if (this.isInView || signal.aborted) go();
    });
  }

  /** Resolves when it has been in view, or when the signal is aborted. */
  seen(signal: AbortSignal): Promise<void> {
    return this.#isSeen ? Promise.resolve() : this.next(signal);
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
