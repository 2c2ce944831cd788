import { sweepWorkers } from '@holdfast/sim/workers';
import own from './own.js';
import { task } from './task.js';

// A stand-in for a page, as tests of pages have: it must not make this a browser.
globalThis.document = {};
const runner = sweepWorkers({ size: 2 });
console.log(await task(own, runner));
await runner.close();
