/** Work in small steps that lets the page draw and hear in between. */

/** Milliseconds of a frame that the work may take. */
const sliceMs = 9;

/** Runs a generator to its end; each step is a chance to pause. */
export async function inSlices<Step, Result>(
  steps: Generator<Step, Result, unknown>,
  signal: AbortSignal,
): Promise<Result> {
  let started = performance.now();
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
    if (performance.now() - started <= sliceMs) continue;
    await new Promise<void>((resolve) => setTimeout(resolve, 0));
    signal.throwIfAborted();
    started = performance.now();
  }
}
