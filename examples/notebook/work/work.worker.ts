/** A worker of the page: one task at a time. */
import '../no-eval.ts';
import { yieldBy } from '@holdfast/sim/internal';
import { type Answer, type Order, tasksFor } from './tasks.ts';

const here = globalThis as unknown as {
  onmessage: (event: MessageEvent<Order>) => void;
  postMessage(answer: Answer): void;
};

let running = new AbortController();

/** Lets the work go on that rests. */
let wake: (() => void) | undefined;
let rested: Promise<void> | undefined;

function rest(rests: boolean): void {
  wake?.();
  wake = undefined;
  rested = rests
    ? new Promise((resolve) => {
        wake = resolve;
      })
    : undefined;
}

// Unlike a timer's, a message of its own comes at once.
const { port1, port2 } = new MessageChannel();
const yielding: (() => void)[] = [];
port1.onmessage = () => yielding.shift()?.();
/** A simulation looks so often whether it is still wanted, or has to rest, ms. */
const afterMs = 8;
yieldBy({
  afterMs,
  async turn() {
    await new Promise<void>((resolve) => {
      yielding.push(resolve);
      port2.postMessage(undefined);
    });
    await rested;
  },
});

here.onmessage = async ({ data }) => {
  if ('giveUp' in data) {
    running.abort();
    rest(false);
    return;
  }
  if ('rests' in data) {
    rest(data.rests);
    return;
  }
  running = new AbortController();
  const { id, task, args, isRehearsal } = data;
  try {
    const work = tasksFor(running.signal)[task] as (...args: readonly unknown[]) => Promise<unknown>;
    const result = await work(...args);
    here.postMessage({ id, result: isRehearsal ? undefined : result });
  } catch (error) {
    here.postMessage({ id, error: (error as Error).message });
  }
};
