/**
 * The example's sweep, nine cells and four estimators, on two workers against one. A machine with less than
 * two idle cores cannot show it: see the load that the bench states. What the main thread does meanwhile is
 * told as a share of the time on two workers: only that part is not shared.
 */
import { readFileSync } from 'node:fs';
import { performance } from 'node:perf_hooks';
import { parseRig, sweep } from '@holdfast/sim';
import { sweepWorkers } from '@holdfast/sim/workers';
import type { Row, Side } from '../row.ts';

export const row: Row = {
  name: 'sweep-workers',
  work: "the example's sweep (9 focus shifts, 4 estimators, 128 frames each) on 2 workers",
  unit: 'sweep',
  repeats: 3,
  prepare() {
    const two = onWorkers(2);
    return {
      ours: two,
      references: [{ label: 'the same on 1 worker', goal: 1.85, start: () => onWorkers(1) }],
      agreement: () =>
        `main thread busy for ${(100 * two.mainThread()).toFixed(1)} % of the time on 2 workers`,
    };
  },
};

/** `run` sweeps with workers that stay, as those of a program do from its first sweep on. */
function onWorkers(size: number): Side & { mainThread(): number } {
  const path = new URL('../../../examples/rigs/fast-reflector.json', import.meta.url);
  const rig = parseRig(JSON.parse(readFileSync(path, 'utf8')));
  const estimator = ['centerOfMass', 'thresholdedCenterOfMass', 'gaussianFit', 'templateFit'] as const;
  const focusShiftUm = [0, 50, 100, 150, 200, 250, 300, 350, 400];
  const runner = sweepWorkers({ size });
  let busy = 0;
  let cells = 0;
  return {
    async run(count) {
      const begin = performance.now();
      const before = performance.eventLoopUtilization();
      for (let i = 0; i < count; i++)
        for await (const row of sweep(rig, {
          axes: { focusShiftUm, estimator },
          trials: 128,
          seed: i,
          runner,
        }))
          cells = Math.max(cells, row.cell + 1);
      busy = performance.eventLoopUtilization(before).utilization;
      if (cells !== focusShiftUm.length) throw new Error(`${cells} cells came`);
      return (performance.now() - begin) / 1000;
    },
    mainThread: () => busy,
    close: () => void runner.close(),
  };
}
