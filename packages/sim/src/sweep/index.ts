/**
 * The error over a grid of settings, by any number of workers, to be gone on with after any break.
 *
 * sweep              the error over a grid: cells run here or by workers, rows as they are ready
 * sweep-plan         what a sweep is, apart from how it is run
 * sweep-grid         what a sweep varies, and its cells
 * sweep-cell         one cell: plain data in, plain rows out
 * sweep-fingerprint  a short name for a sweep: version, rig and plan
 * sweep-record       the result file of a sweep, finished or broken off
 * sweep-table        rows as a flat table; CSV
 * own-by-name        estimators and stars of a user's, in text and for workers
 * arrow              ('@holdfast/sim/arrow') rows as an Apache Arrow file
 * workers            ('@holdfast/sim/workers') a pool of threads or module workers for a sweep
 * cell-worker        ('@holdfast/sim/cell-worker') entry of such a worker
 */

export {
  type CellRunner,
  type SweepOptions,
  type SweepPart,
  type SweepRun,
  sweep,
  sweepCells,
} from './sweep.ts';
export type { SceneDescription, SweepCell, SweepRow } from './sweep-cell.ts';
export type { SweepAxes } from './sweep-grid.ts';
export type { SweepPlan } from './sweep-plan.ts';
export {
  type DamagedLine,
  inCellOrder,
  readSweepRecord,
  type SweepRecord,
  type SweepRecordOptions,
  sweepLines,
} from './sweep-record.ts';
export { sweepFromCsv, sweepToCsv } from './sweep-table.ts';
