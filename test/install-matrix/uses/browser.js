/** The task in a browser: on the page, on workers, or on workers of a worker. */
import { sweepWorkers } from '@holdfast/sim/workers';
import own from './own.js';
import { task } from './task.js';

export async function measure(how) {
  if (how === 'worker') {
    const worker = new Worker('/browser-worker.js', { type: 'module' });
    return new Promise((resolve, reject) => {
      worker.onmessage = ({ data }) => resolve(data);
      worker.onerror = ({ message }) => reject(new Error(message));
    });
  }
  const runner = how === 'workers' ? sweepWorkers({ size: 2, script: '/cell-worker.js' }) : undefined;
  const printed = await task({ ...own, module: new URL('/own.js', location.href).href }, runner);
  await runner?.close();
  return printed;
}
