/** The page's workers: who is looked at is served first, and what nobody waits for any more is given up. */
import { nextTask } from '../next-task.ts';
import type { Answer, Begin, TaskName, TaskResult, Tasks } from './tasks.ts';
import WorkWorker from './work.worker.ts?worker&inline';

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

/** How much is looked at who asks: 0 out of view, 1 in the chapter in view, 2 on the screen. */
type Sight = () => number;
const onScreen = 2;

interface Job {
  readonly sight: Sight;
  readonly order: Begin;
  readonly done: (result: unknown) => void;
  readonly failed: (error: unknown) => void;
  readonly signal: AbortSignal;
  /** When a worker was told to begin it. */
  begun: number;
}

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
    waitsBelow: 1,
    endsWorkers: false,
    ready: 1,
    busyScreen: () => this.#busyScreen(),
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

  /** What is looked at has changed. */
  lookAgain(): void {
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
    // A function of its own for each who waits: one team may ask twice.
    const looks = () => sight();
    shared.waiting.add(looks);
    return new Promise((resolve, reject) => {
      const leave = () => {
        shared.waiting.delete(looks);
        reject(signal.reason);
        if (shared.waiting.size === 0) shared.giveUp(signal.reason);
      };
      signal.addEventListener('abort', leave, { once: true });
      shared.result.then(resolve as (result: unknown) => void, reject).finally(() => {
        // An answer is remembered, but not who waited for it.
        shared.waiting.delete(looks);
        signal.removeEventListener('abort', leave);
      });
    });
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
    const waiting = new Set<Sight>();
    const { signal } = controller;
    const result = new Promise<unknown>((done, failed) => {
      const job: Job = {
        sight: () => Math.max(0, ...[...waiting].map((looks) => looks())),
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

/** Work that several may wait for. */
interface Shared {
  /** How much each who waits is looked at. */
  readonly waiting: Set<Sight>;
  readonly result: Promise<unknown>;
  /** Nobody waits for it any more; of no effect once it is done. */
  giveUp(reason: unknown): void;
}

/** Answers that are remembered: going back to an earlier value costs nothing. */
const mostKept = 200;

/** So long after the last short work for the screen other work may begin, ms. */
const quietMs = 150;

/** How long a worker may take to give up what it does, ms: a new one takes longer to begin. */
const patienceMs = 500;

interface PoolSize {
  /** Workers at work at the same time. */
  readonly size: number;
  /** For what is out of view. */
  readonly sizeOutOfView: number;
  /**
   * How many more may work while others do what is looked at less, or what nobody waits for any more: what
   * comes into view does not wait until they end.
   */
  readonly spare: number;
  /** What is looked at less is not begun while the screen waits for its short work. */
  readonly waitsBelow: number;
  /** How long the screen is still taken to be busy, ms. */
  readonly busyScreen: () => number;
  /**
   * Whether a worker that does not give up its job soon when told to is ended: that frees its core. Else its
   * answer is forgotten. A worker that has worked before is several times as fast as a new one.
   */
  readonly endsWorkers: boolean;
  /**
   * How many workers are begun at once; others only once these have answered, for at first the page needs the
   * other cores.
   */
  readonly ready: number;
}

/** Workers of one kind, and what waits for them. */
class Pool {
  readonly #limits: PoolSize;
  /** While only the workers of the beginning may work. */
  #isAlone: boolean;
  readonly #idle: Worker[] = [];
  readonly #busy = new Map<Worker, Job>();
  /** Those that were told to give up, and have not answered yet. */
  readonly #ending = new Map<Worker, ReturnType<typeof setTimeout>>();
  #queue: Job[] = [];
  #isDispatchDue = false;
  #later: ReturnType<typeof setTimeout> | undefined;
  /** When something for the screen was last asked for or done. */
  lastOnScreen = Number.NEGATIVE_INFINITY;
  /** How long each task took when it was last done, ms. */
  readonly #took = new Map<TaskName, number>();

  constructor(limits: PoolSize) {
    this.#limits = limits;
    this.#isAlone = limits.ready > 0;
    for (let i = 0; i < limits.ready; i++) this.#idle.push(this.#newWorker());
  }

  /** As many workers as may ever work. */
  begin(): void {
    const { size, spare } = this.#limits;
    while (this.#idle.length + this.#busy.size < size + spare) this.#idle.push(this.#newWorker());
  }

  get open(): number {
    return this.#queue.length + this.#busy.size;
  }

  /** Whether the screen waits for something. */
  get isOnScreen(): boolean {
    const isSeen = (job: Job) => !job.signal.aborted && job.sight() === onScreen;
    return this.#queue.some(isSeen) || [...this.#busy.values()].some(isSeen);
  }

  add(job: Job): void {
    this.#queue.push(job);
    if (job.sight() === onScreen) this.lastOnScreen = performance.now();
    this.#dispatchSoon();
  }

  /** Once all that is asked for, or given up, at the same time is known: what is seen goes first. */
  #dispatchSoon(): void {
    if (this.#isDispatchDue) return;
    this.#isDispatchDue = true;
    void nextTask().then(() => {
      this.#isDispatchDue = false;
      this.dispatch();
    });
  }

  giveUp(job: Job): void {
    this.#queue = this.#queue.filter((waiting) => waiting !== job);
    for (const [worker, running] of this.#busy)
      if (running === job) {
        worker.postMessage({ giveUp: true });
        if (this.#limits.endsWorkers) {
          this.#busy.delete(worker);
          const end = () => {
            this.#ending.delete(worker);
            worker.terminate();
            this.dispatch();
          };
          this.#ending.set(worker, setTimeout(end, patienceMs));
        }
      }
    job.failed(job.signal.reason);
    this.#dispatchSoon();
  }

  /** What is looked at most; of that, what takes the shortest time; of that, the longest waiting. */
  dispatch(): void {
    const { size, sizeOutOfView, spare, waitsBelow, busyScreen } = this.#limits;
    while (this.#queue.length > 0) {
      const sights = this.#queue.map((job) => job.sight());
      const most = Math.max(...sights);
      const wait = most < waitsBelow ? busyScreen() : 0;
      clearTimeout(this.#later);
      if (wait > 0) {
        this.#later = setTimeout(() => this.dispatch(), wait);
        return;
      }
      const room =
        (most === 0 ? sizeOutOfView : size) + Math.min(spare, this.#busyWithLess(most) + this.#ending.size);
      if (this.#busy.size + this.#ending.size >= room) return;
      if (this.#isAlone && this.#idle.length === 0) return;
      const looked = this.#queue.filter((_, i) => sights[i] === most);
      const job = looked.reduce((first, other) =>
        this.#timeOf(other) < this.#timeOf(first) ? other : first,
      );
      this.#queue.splice(this.#queue.indexOf(job), 1);
      // By turns, so that all of them have worked before.
      const worker = this.#idle.shift() ?? this.#newWorker();
      this.#busy.set(worker, job);
      job.begun = performance.now();
      worker.postMessage(job.order);
    }
  }

  #timeOf = ({ order: { task } }: Job): number => this.#took.get(task) ?? 0;

  #busyWithLess(sight: number): number {
    let count = 0;
    for (const { signal, sight: looks } of this.#busy.values())
      if (signal.aborted || looks() < sight) count++;
    return count;
  }

  #newWorker(): Worker {
    const worker = new WorkWorker();
    worker.onmessage = ({ data }: MessageEvent<Answer>) => {
      const job = this.#busy.get(worker);
      if (job !== undefined) this.#took.set(job.order.task, performance.now() - job.begun);
      if (job?.sight() === onScreen) this.lastOnScreen = performance.now();
      clearTimeout(this.#ending.get(worker));
      this.#ending.delete(worker);
      this.#busy.delete(worker);
      this.#isAlone = false;
      const { size, spare } = this.#limits;
      if (this.#idle.length < size + spare) this.#idle.push(worker);
      else worker.terminate();
      if ('error' in data) job?.failed(new Error(data.error));
      else job?.done(data.result);
      this.dispatch();
    };
    worker.onerror = (event) => {
      const job = this.#busy.get(worker);
      this.#busy.delete(worker);
      this.#isAlone = false;
      worker.terminate();
      job?.failed(new Error(`a worker ended: ${event.message}`));
      this.dispatch();
    };
    return worker;
  }
}
