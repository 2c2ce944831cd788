/**
 * Random rigs through scene, trials and the error by formula: as many of 10^5 as 15 minutes allow. Two in a
 * hundred are drawn by diffraction, as the rig says; the others by rays, a hundred times as fast.
 */
import { randomRig } from './random-rig.ts';
import { runRig } from './run-rig.ts';
import { seededNumbers } from './seeded-numbers.ts';

const most = 100_000;
const minutes = 15;
const uniform = seededNumbers('rigs');
const started = performance.now();
const faults: string[] = [];
let ran = 0;
let refused = 0;
for (; ran < most && performance.now() - started < minutes * 60_000; ran++) {
  const made = randomRig(uniform);
  refused += made.refused;
  const filter = Math.floor(uniform() * made.rig.filters.length);
  const rig = uniform() < 0.02 ? made.rig : { ...made.rig, starModel: 'geometric' as const };
  const fault = runRig(rig, filter);
  if (fault !== undefined) faults.push(`${fault}: ${JSON.stringify(rig)}`);
}
console.log(`rigs: ${ran} ran, ${refused} were refused by their schema, ${faults.length} faults`);
for (const fault of faults.slice(0, 5)) console.log(fault);
process.exitCode = ran > 0 && faults.length === 0 ? 0 : 1;
