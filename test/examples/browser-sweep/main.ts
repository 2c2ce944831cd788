/** The sweep that the page is given: run by the page, or handed to a module worker. */
import { runSweep } from './run-sweep.ts';
import SweepWorker from './sweep.worker.ts?worker';

function sweepInWorker(...args: Parameters<typeof runSweep>): Promise<string> {
  const worker = new SweepWorker();
  return new Promise((resolve, reject) => {
    worker.addEventListener('message', ({ data }) => resolve(data as string));
    worker.addEventListener('error', ({ message }) => reject(new Error(message)));
    worker.postMessage(args);
  });
}

Object.assign(globalThis, { runSweep, sweepInWorker });
