/** Workers of one kind, and the jobs that wait for them: what is on the screen is served first. */
import { promptTask } from '../next-task.ts';
import { Rehearsal } from './rehearsal.ts';
import type { Answer, Begin, TaskName } from './tasks.ts';
import WorkWorker from './work.worker.ts?worker&inline';

/** How much a chapter is looked at: 0 out of view, 1 in view, 2 on the screen. */
export type Sight = () => number;
const onScreen = 2;

export interface Job {
  readonly sight: Sight;
  /** Number of the change of the page that it follows: the last is wanted first. */
  readonly change: () => number;
  readonly order: Begin;
  readonly done: (result: unknown) => void;
  readonly failed: (error: unknown) => void;
  readonly signal: AbortSignal;
  /** When a worker was told to begin it. */
  begun: number;
}

/** How long a worker may take to give up what it does, ms: a new one takes longer to begin. */
const patienceMs = 500;

export interface PoolSize {
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
  /** Told when something was asked for, done or given up. */
  readonly changed?: () => void;
}

export class Pool {
  readonly #limits: PoolSize;
  /** While only the workers of the beginning may work. */
  #isAlone: boolean;
  readonly #idle: Worker[] = [];
  readonly #busy = new Map<Worker, Job>();
  /** Workers that were told to give up and have not answered yet. */
  readonly #ending = new Map<Worker, ReturnType<typeof setTimeout>>();
  #queue: Job[] = [];
  #isDispatchDue = false;
  #later: ReturnType<typeof setTimeout> | undefined;
  /** When something for the screen was last asked for or done. */
  lastOnScreen = Number.NEGATIVE_INFINITY;
  #rests = false;
  readonly #rehearsal = new Rehearsal<Begin>();
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
    while (this.#workers < size + spare) this.#idle.push(this.#newWorker());
  }

  get #workers(): number {
    return this.#idle.length + this.#busy.size + this.#ending.size;
  }

  get open(): number {
    const asked = [...this.#busy.values()].filter(({ order }) => !order.isRehearsal);
    return this.#queue.length + asked.length;
  }

  /** Whether the screen waits for something. */
  get isOnScreen(): boolean {
    const isSeen = (job: Job) => !job.signal.aborted && job.sight() === onScreen;
    return this.#queue.some(isSeen) || [...this.#busy.values()].some(isSeen);
  }

  add(job: Job): void {
    this.#queue.push(job);
    if (job.sight() === onScreen) this.lastOnScreen = performance.now();
    this.#limits.changed?.();
    this.#dispatchSoon();
  }

  /** Whether what runs rests at its next pause: others need the cores. */
  rest(rests: boolean): void {
    if (rests === this.#rests) return;
    this.#rests = rests;
    for (const worker of [...this.#idle, ...this.#busy.keys(), ...this.#ending.keys()])
      worker.postMessage({ rests });
  }

  /** Once all that is asked for, or given up, at the same time is known: what is seen goes first. */
  #dispatchSoon(): void {
    if (this.#isDispatchDue) return;
    this.#isDispatchDue = true;
    void promptTask().then(() => {
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
    this.#limits.changed?.();
    this.#dispatchSoon();
  }

  /**
   * Begin the jobs that are looked at most, of these what follows the last change, of these the shortest, of
   * these the one that waits longest.
   */
  dispatch(): void {
    const { size, sizeOutOfView, spare, waitsBelow, busyScreen, endsWorkers } = this.#limits;
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
      // Those at short work come free before a new worker has read its program.
      if (!endsWorkers && this.#idle.length === 0 && this.#workers >= size) return;
      const looked = this.#queue.filter((_, i) => sights[i] === most);
      const last = Math.max(...looked.map((job) => job.change()));
      const job = looked
        .filter((job) => job.change() === last)
        .reduce((first, other) => (this.#timeOf(other) < this.#timeOf(first) ? other : first));
      this.#queue.splice(this.#queue.indexOf(job), 1);
      // By turns, so that all of them have worked before.
      this.#begin(this.#idle.shift() ?? this.#newWorker(), job);
    }
  }

  /** While nothing is asked for: let a worker do again what it has not done often. */
  rehearse(): void {
    if (this.open > 0 || this.#busy.size > 0 || this.#isAlone) return;
    const found = this.#rehearsal.next(this.#idle);
    if (found === undefined) return;
    const { worker, order } = found;
    this.#idle.splice(this.#idle.indexOf(worker), 1);
    const { signal } = new AbortController();
    const nothing = () => {};
    this.#begin(worker, {
      sight: () => 0,
      change: () => 0,
      order,
      done: nothing,
      failed: nothing,
      signal,
      begun: 0,
    });
  }

  #begin(worker: Worker, job: Job): void {
    this.#busy.set(worker, job);
    job.begun = performance.now();
    worker.postMessage(job.order);
    if (this.#rests) worker.postMessage({ rests: true });
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
      const job = this.#release(worker);
      if (job !== undefined) {
        const took = performance.now() - job.begun;
        this.#took.set(job.order.task, took);
        this.#rehearsal.note(worker, job.order, took);
      }
      if (job?.sight() === onScreen) this.lastOnScreen = performance.now();
      const { size, spare } = this.#limits;
      if (this.#idle.length < size + spare) this.#idle.push(worker);
      else worker.terminate();
      if ('error' in data) job?.failed(new Error(data.error));
      else job?.done(data.result);
      this.#limits.changed?.();
      this.dispatch();
    };
    worker.onerror = (event) => {
      const job = this.#release(worker);
      worker.terminate();
      job?.failed(new Error(`a worker ended: ${event.message}`));
      this.#limits.changed?.();
      this.dispatch();
    };
    return worker;
  }

  /** The worker does nothing any more; what it did last, unless that was given up. */
  #release(worker: Worker): Job | undefined {
    const job = this.#busy.get(worker);
    this.#busy.delete(worker);
    clearTimeout(this.#ending.get(worker));
    this.#ending.delete(worker);
    this.#isAlone = false;
    return job;
  }
}
