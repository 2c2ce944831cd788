/** A worker of the page: one task at a time. */
import '../no-eval.ts';
import { type Answer, type Order, tasks } from './tasks.ts';

const here = globalThis as unknown as {
  onmessage: (event: MessageEvent<Order>) => void;
  postMessage(answer: Answer): void;
};

here.onmessage = async ({ data: { id, task, args } }) => {
  try {
    const work = tasks[task] as (...args: readonly unknown[]) => Promise<unknown>;
    here.postMessage({ id, result: await work(...args) });
  } catch (error) {
    here.postMessage({ id, error: (error as Error).message });
  }
};
