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

/** When long work goes on after it has yielded: in the next task. */
let turn = (): Promise<void> => new Promise((resolve) => setTimeout(resolve, 0));

/** Let long work that yields go on only when it is told to: others may need the processor first. */
export function yieldUntil(next: () => Promise<void>): void {
  turn = next;
}

/** Yields to the event loop, then throws if the task was canceled. */
export async function pause(signal: CancelSignal | undefined): Promise<void> {
  signal?.throwIfAborted();
  await turn();
  signal?.throwIfAborted();
}
