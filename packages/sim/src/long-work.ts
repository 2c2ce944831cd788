/** Shared options of long tasks: progress, canceling, and yielding to the event loop. */

/** Options that all long work takes. */
export interface LongWorkOptions {
  /** Called after each piece of work. */
  readonly onProgress?: (progress: Progress) => void;
  /** Aborting it makes the work throw the signal's reason before its next piece. */
  readonly signal?: CancelSignal;
}

/** What cancels long work: every `AbortSignal` is one. The types of this package need none of a platform. */
export interface CancelSignal {
  /** Whether it was canceled. */
  readonly aborted: boolean;
  /** Throw the reason, if there is one. */
  throwIfAborted(): void;
}

/** Names of these options; each long work adds its own and refuses every other. */
export const longWorkNames = 'onProgress signal';

/** How far a long work has come. */
export interface Progress {
  /** What is being worked on, for people. */
  readonly task: string;
  /** Steps done. */
  readonly done: number;
  /** Steps in all. */
  readonly total: number;
  /** Estimate from the pace so far. */
  readonly secondsLeft?: number;
}

/** The result of work that is done in steps. */
export function resultOf<Result>(steps: Iterator<void, Result>): Result {
  for (;;) {
    const { done, value } = steps.next();
    if (done) return value;
  }
}

/** How long work yields: after so long, and when it goes on. */
let yields = { afterMs: 40, turn: (): Promise<void> => new Promise((resolve) => setTimeout(resolve, 0)) };

let yieldedAt = 0;

/** Let all long work yield in another way: others may need the processor first. */
export function yieldBy(way: { readonly afterMs: number; readonly turn: () => Promise<void> }): void {
  yields = way;
}

/**
 * The result of work that is done in steps, and yields to the event loop in between.
 *
 * @throws the signal's reason when canceled
 */
export async function resultUntil<Result>(
  steps: Iterator<void, Result>,
  signal: CancelSignal | undefined,
): Promise<Result> {
  for (;;) {
    const { done, value } = steps.next();
    if (done) return value;
    if (Date.now() - yieldedAt >= yields.afterMs) await pause(signal);
  }
}

/** Yields to the event loop, then throws if the task was canceled. */
export async function pause(signal: CancelSignal | undefined): Promise<void> {
  signal?.throwIfAborted();
  await yields.turn();
  yieldedAt = Date.now();
  signal?.throwIfAborted();
}
