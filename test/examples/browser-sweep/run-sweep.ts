/** Runs a sweep on the calling thread or on module workers, and hands back its rows as text. */
import { inCellOrder, parseRig, type SweepPlan, type SweepRow, sweep, sweepLines } from '@holdfast/sim';
import { sweepWorkers } from '@holdfast/sim/workers';
import script from './cell.worker.ts?worker&url';

export async function runSweep(rig: unknown, plan: SweepPlan, workers: number): Promise<string> {
  const runner = workers > 0 ? sweepWorkers({ size: workers, script }) : undefined;
  const rows: SweepRow[] = [];
  for await (const row of sweep(parseRig(rig), runner === undefined ? plan : { ...plan, runner }))
    rows.push(row);
  await runner?.close();
  return sweepLines(inCellOrder(rows));
}
