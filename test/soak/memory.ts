/**
 * A million trials in one process: the heap after each share of them, its slope and the slope's error. A leak
 * of one frame per trial would be 7 kB per trial.
 */
import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import { buildScene, compareEstimators } from '@holdfast/sim';
import { smallRig } from '../sim/small-rig.ts';
import { lineThrough } from './slope.ts';

setFlagsFromString('--expose-gc');
const collect = runInNewContext('gc') as () => void;

const shares = 50;
const perShare = 20_000;
/** A slope below this is flat, bytes per trial. */
const flatBytes = 2;

const rig = smallRig();
const heap: number[] = [];
for (let share = 0; share < shares; share++) {
  // Ten scenes by turns: what ever new ones leave behind is measured by `sliders`.
  const scene = buildScene(rig, { focusShiftUm: share % 10 });
  compareEstimators(scene, { estimators: ['thresholdedCenterOfMass'], seed: share, trials: perShare });
  collect();
  heap.push(process.memoryUsage().heapUsed + process.memoryUsage().arrayBuffers);
}
// The first shares fill the memory of recent shapes.
const settled = heap.slice(shares / 5);
const { slope, offset } = lineThrough(settled);
const perTrial = slope.value / perShare;
const error = slope.standardError / perShare;
console.log(
  `memory: ${shares * perShare} trials; ${(offset.value / 1e6).toFixed(1)} MB; ${perTrial.toFixed(3)} ± ${error.toFixed(3)} bytes per trial`,
);
process.exitCode = perTrial < flatBytes + 3 * error ? 0 : 1;
