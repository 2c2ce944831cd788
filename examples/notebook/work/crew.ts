/** The page's workers: each takes the next order from the queue; what nobody waits for any more is given up. */
import type { Answer, Order, TaskName, TaskResult, Tasks } from './tasks.ts';
import WorkWorker from './work.worker.ts?worker&inline';

interface Job {
  readonly isFirst: boolean;
  readonly order: Order;
  readonly done: (result: unknown) => void;
  readonly failed: (error: unknown) => void;
  readonly signal: AbortSignal;
}

const cores = navigator.hardwareConcurrency || 2;

export class Crew {
  /** One core is left to the page, but two workers are had in any case. */
  readonly size = Math.max(2, Math.min(6, cores - 1));
  readonly #idle: Worker[] = [];
  readonly #busy = new Map<Worker, Job>();
  #queue: Job[] = [];
  #orders = 0;

  /** Have a task done; rejects with the signal's reason when it is cancelled. */
  run<Name extends TaskName>(
    signal: AbortSignal,
    task: Name,
    ...args: Parameters<Tasks[Name]>
  ): Promise<TaskResult<Name>> {
    return this.#order(false, signal, task, args);
  }

  /** The same before all that waits: for what someone has just asked for. */
  runFirst<Name extends TaskName>(
    signal: AbortSignal,
    task: Name,
    ...args: Parameters<Tasks[Name]>
  ): Promise<TaskResult<Name>> {
    return this.#order(true, signal, task, args);
  }

  #order<Name extends TaskName>(
    isFirst: boolean,
    signal: AbortSignal,
    task: Name,
    args: Parameters<Tasks[Name]>,
  ): Promise<TaskResult<Name>> {
    return new Promise((resolve, reject) => {
      if (signal.aborted) {
        reject(signal.reason);
        return;
      }
      const job: Job = {
        isFirst,
        order: { id: ++this.#orders, task, args },
        done: resolve as (result: unknown) => void,
        failed: reject,
        signal,
      };
      signal.addEventListener('abort', () => this.#giveUp(job), { once: true });
      if (isFirst) this.#queue.unshift(job);
      else this.#queue.push(job);
      this.#hire();
    });
  }

  #hire(): void {
    // Someone who has just asked for something does not wait for a long simulation to end: two more may work at it.
    while (this.#queue.length > 0 && this.#busy.size < this.size + (this.#queue[0].isFirst ? 2 : 0)) {
      const job = this.#queue.shift() as Job;
      const worker = this.#idle.pop() ?? this.#newWorker();
      this.#busy.set(worker, job);
      worker.postMessage(job.order);
    }
  }

  #newWorker(): Worker {
    const worker = new WorkWorker();
    worker.onmessage = ({ data }: MessageEvent<Answer>) => {
      const job = this.#busy.get(worker);
      if (job?.order.id !== data.id) return;
      this.#busy.delete(worker);
      this.#idle.push(worker);
      if ('error' in data) job.failed(new Error(data.error));
      else job.done(data.result);
      this.#hire();
    };
    worker.onerror = (event) => {
      const job = this.#busy.get(worker);
      this.#busy.delete(worker);
      worker.terminate();
      job?.failed(new Error(`a worker ended: ${event.message}`));
      this.#hire();
    };
    return worker;
  }

  /**
   * A worker cannot be interrupted: it is ended, and another takes its place when there is work. What was asked for first is
   * short: it is let end, and its answer forgotten.
   */
  #giveUp(job: Job): void {
    this.#queue = this.#queue.filter((waiting) => waiting !== job);
    for (const [worker, running] of this.#busy)
      if (running === job && !job.isFirst) {
        this.#busy.delete(worker);
        worker.terminate();
      }
    job.failed(job.signal.reason);
    this.#hire();
  }
}
