/**
 * A browser makes code fast once it has run a few times, in each worker anew. While nobody waits, each worker
 * does again what it was asked for last, until it is fast: the next change is followed within a frame or two.
 */

/** What a worker is asked for. */
interface Asked {
  readonly task: string;
  readonly args: readonly unknown[];
  /** Done for practice: nobody waits for the result. */
  readonly isRehearsal?: boolean;
}

/** So often a worker has done a task before it is fast (measured). */
const enough = 10;
/** What takes longer is not done for practice, ms. */
const longestMs = 30;

export class Rehearsal<Order extends Asked> {
  /** Each task as it was last asked for, the one that came last at the end. */
  readonly #last = new Map<string, { readonly order: Order; readonly tookMs: number }>();
  readonly #times = new WeakMap<object, Map<string, number>>();

  /** A worker has done this. */
  note(worker: object, order: Order, tookMs: number): void {
    const times = this.#times.get(worker) ?? new Map<string, number>();
    this.#times.set(worker, times.set(order.task, (times.get(order.task) ?? 0) + 1));
    if (order.isRehearsal) return;
    this.#last.delete(order.task);
    this.#last.set(order.task, { order, tookMs });
  }

  /** What one of these workers should do again; undefined once they all know everything. */
  next<Each extends object>(workers: readonly Each[]): { worker: Each; order: Order } | undefined {
    for (const [task, { order, tookMs }] of [...this.#last].reverse()) {
      if (tookMs > longestMs) continue;
      const times = (worker: Each) => this.#times.get(worker)?.get(task) ?? 0;
      const [worker] = [...workers].sort((a, b) => times(a) - times(b));
      if (worker !== undefined && times(worker) < enough)
        return { worker, order: { ...order, args: nearly(order.args, times(worker)), isRehearsal: true } };
    }
    return undefined;
  }
}

/** Another rig by a hair: what was made for the one before does not help. */
function nearly(args: readonly unknown[], times: number): readonly unknown[] {
  const [rig, ...others] = args as [{ telescope?: { apertureMm: number } }, ...unknown[]];
  if (rig?.telescope === undefined) return args;
  const apertureMm = rig.telescope.apertureMm * (1 + 1e-9 * times);
  return [{ ...rig, telescope: { ...rig.telescope, apertureMm } }, ...others];
}
