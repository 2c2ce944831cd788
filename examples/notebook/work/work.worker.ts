/** A worker of the page: one task at a time. */
import '../no-eval.ts';
import { type Answer, type Order, tasksFor } from './tasks.ts';

const here = globalThis as unknown as {
  onmessage: (event: MessageEvent<Order>) => void;
  postMessage(answer: Answer): void;
};

let running = new AbortController();

here.onmessage = async ({ data }) => {
  if ('giveUp' in data) {
    running.abort();
    return;
  }
  running = new AbortController();
  const { id, task, args } = data;
  try {
    const work = tasksFor(running.signal)[task] as (...args: readonly unknown[]) => Promise<unknown>;
    here.postMessage({ id, result: await work(...args) });
  } catch (error) {
    here.postMessage({ id, error: (error as Error).message });
  }
};
