/** Entry of a worker: it runs cells that `sweepWorkers` sends. */
import workerpool from 'workerpool';
import type { AnyEstimator } from '../trials/own-estimator.ts';
import { withCode } from './own-by-name.ts';
import { runCell, type SweepCell } from './sweep-cell.ts';

workerpool.worker({
  runCell: async (cell: SweepCell<AnyEstimator>) => runCell(await withCode(cell)),
});
