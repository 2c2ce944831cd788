/** Entry of a worker: it runs cells that `sweepWorkers` sends. */
import workerpool from 'workerpool';
import { runCell } from './sweep-cell.ts';

workerpool.worker({ runCell });
