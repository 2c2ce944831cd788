/** The page's work: equal questions share one answer, and what nobody waits for any more is given up. */
import { promptTask } from '../next-task.ts';
import { type Job, Pool, type Sight } from './pool.ts';
import type { TaskName, TaskResult, Tasks } from './tasks.ts';

/** What a chapter has done by the workers. */
export interface Team {
  /** A simulation; rejects with the signal's reason when it is canceled. */
  run<Name extends TaskName>(
    signal: AbortSignal,
    task: Name,
    ...args: Parameters<Tasks[Name]>
  ): Promise<TaskResult<Name>>;
  /**
   * Short work, as a formula or a first look at a few frames: by workers that no long simulation ever holds
   * up.
   */
  runFirst<Name extends TaskName>(
    signal: AbortSignal,
    task: Name,
    ...args: Parameters<Tasks[Name]>
  ): Promise<TaskResult<Name>>;
  /** All workers for short work are begun, and read their program before they are asked. */
  begin(): void;
}

/** So long after the last short work for the screen other work may begin, ms. */
const quietMs = 150;
/** So long after it workers practice, ms: longer than between two keys that one types. */
const pauseMs = 400;
/** So long after it simulations rest, ms: its answer is drawn meanwhile. */
const restMs = 30;

const cores = navigator.hardwareConcurrency || 2;
const mostSimulations = Math.max(2, Math.min(6, cores - 1));

export class Crew {
  /**
   * One is there before it is asked: it reads its program while the page is set up. What is asked for on the
   * screen never waits for what nobody looks at: one more worker takes its place.
   */
  readonly #formulas = new Pool({
    size: 2,
    sizeOutOfView: 1,
    spare: 1,
    waitsBelow: 2,
    endsWorkers: false,
    ready: 1,
    busyScreen: () => this.#busyScreen(),
    changed: () => {
      this.#letRest();
      this.#rehearseLater();
    },
  });
  /** Chapters out of view leave one core to the page and to the chapter that is read. */
  readonly #simulations = new Pool({
    size: mostSimulations,
    sizeOutOfView: Math.max(1, cores - 1),
    spare: 1,
    waitsBelow: 2,
    endsWorkers: true,
    ready: 0,
    busyScreen: () => this.#busyScreen(),
  });
  #restEnds: ReturnType<typeof setTimeout> | undefined;
  #rehearses: ReturnType<typeof setTimeout> | undefined;
  #change = 0;
  #isCounted = false;
  readonly #changes = new WeakMap<AbortSignal, number>();
  #orders = 0;
  readonly #shared = new Map<string, Shared>();

  team(sight: Sight): Team {
    return {
      run: (signal, task, ...args) => this.#order(this.#simulations, sight, signal, task, args),
      runFirst: (signal, task, ...args) => this.#order(this.#formulas, sight, signal, task, args),
      begin: () => this.#formulas.begin(),
    };
  }

  /** Computations that run or wait. */
  get open(): number {
    return this.#formulas.open + this.#simulations.open;
  }

  /** How long the screen is still taken to be busy, ms: its short work comes in several steps. */
  #busyScreen(): number {
    return this.#formulas.isOnScreen ? quietMs : this.#formulas.lastOnScreen + quietMs - performance.now();
  }

  /** Simulations that run leave the cores to the short work that the screen waits for. */
  #letRest(): void {
    clearTimeout(this.#restEnds);
    if (this.#formulas.isOnScreen) this.#simulations.rest(true);
    else this.#restEnds = setTimeout(() => this.#simulations.rest(false), restMs);
  }

  #rehearseLater(): void {
    clearTimeout(this.#rehearses);
    if (this.#formulas.open > 0 || document.hidden) return;
    const quiet = this.#formulas.lastOnScreen + pauseMs - performance.now();
    this.#rehearses = setTimeout(() => this.#formulas.rehearse(), Math.max(0, quiet));
  }

  /** What is looked at has changed. */
  lookAgain(): void {
    this.#letRest();
    this.#formulas.dispatch();
    this.#simulations.dispatch();
  }

  /** Who asks for what another asks for, or was told a moment ago, gets the same answer. */
  #order<Name extends TaskName>(
    pool: Pool,
    sight: Sight,
    signal: AbortSignal,
    task: Name,
    args: Parameters<Tasks[Name]>,
  ): Promise<TaskResult<Name>> {
    if (signal.aborted) return Promise.reject(signal.reason);
    const shared = this.#sharedWork(pool, task, args);
    const waits = { sight, change: this.#changeOf(signal) };
    shared.waiting.add(waits);
    return new Promise((resolve, reject) => {
      const leave = () => {
        shared.waiting.delete(waits);
        reject(signal.reason);
        if (shared.waiting.size === 0) shared.giveUp(signal.reason);
      };
      signal.addEventListener('abort', leave, { once: true });
      shared.result.then(resolve as (result: unknown) => void, reject).finally(() => {
        // An answer is remembered, but not who waited for it.
        shared.waiting.delete(waits);
        signal.removeEventListener('abort', leave);
      });
    });
  }

  /** Changes are counted: all that is first asked for in one task belongs to the same one. */
  #changeOf(signal: AbortSignal): number {
    const found = this.#changes.get(signal);
    if (found !== undefined) return found;
    this.#changes.set(signal, this.#change);
    if (!this.#isCounted) {
      this.#isCounted = true;
      void promptTask().then(() => {
        this.#isCounted = false;
        this.#change++;
      });
    }
    return this.#change;
  }

  #sharedWork(pool: Pool, task: TaskName, args: readonly unknown[]): Shared {
    // A file cannot be told from another by what it looks like as text.
    const key = task === 'measureFile' ? `file ${this.#orders}` : JSON.stringify([task, args]);
    const found = this.#shared.get(key);
    if (found !== undefined) {
      this.#shared.delete(key);
      this.#shared.set(key, found);
      return found;
    }
    const begun = this.#begin(pool, task, args);
    this.#shared.set(key, begun);
    const [oldest] = this.#shared.keys();
    if (this.#shared.size > mostKept) this.#shared.delete(oldest);
    // What failed or was given up is asked anew.
    begun.result.catch(() => {
      if (this.#shared.get(key) === begun) this.#shared.delete(key);
    });
    return begun;
  }

  #begin(pool: Pool, task: TaskName, args: readonly unknown[]): Shared {
    const controller = new AbortController();
    const waiting = new Set<Waits>();
    const { signal } = controller;
    const result = new Promise<unknown>((done, failed) => {
      const job: Job = {
        sight: () => Math.max(0, ...[...waiting].map(({ sight }) => sight())),
        change: () => Math.max(0, ...[...waiting].map(({ change }) => change)),
        order: { id: ++this.#orders, task, args },
        done,
        failed,
        signal,
        begun: 0,
      };
      signal.addEventListener('abort', () => pool.giveUp(job), { once: true });
      pool.add(job);
    });
    return { waiting, result, giveUp: (reason) => controller.abort(reason) };
  }
}

/** One who waits for work. */
interface Waits {
  readonly sight: Sight;
  readonly change: number;
}

/** Work that several may wait for. */
interface Shared {
  readonly waiting: Set<Waits>;
  readonly result: Promise<unknown>;
  /** Nobody waits for it any more; of no effect once it is done. */
  giveUp(reason: unknown): void;
}

/** Answers that are remembered: going back to an earlier value costs nothing. */
const mostKept = 200;
