/** Random calls of each function of the front doors: as many of 10^5 as its share of 16 minutes allows. */
import { callCases } from './call-cases.ts';
import { randomCall } from './random-call.ts';
import { seededNumbers } from './seeded-numbers.ts';

const most = 100_000;
const msEach = (16 * 60_000) / callCases.length;
const uniform = seededNumbers('calls');
const faults: string[] = [];
let calls = 0;
let fewest = most;
for (const each of callCases) {
  const started = performance.now();
  let made = 0;
  for (; made < most && performance.now() - started < msEach; made++) {
    const fault = randomCall(each, uniform);
    if (fault !== undefined) faults.push(`${fault.what} <- ${fault.call}`);
  }
  calls += made;
  fewest = Math.min(fewest, made);
}
console.log(
  `calls: ${calls} of ${callCases.length} functions, ${fewest} to ${most} of each; ${faults.length} faults`,
);
for (const fault of faults.slice(0, 20)) console.log(fault);
process.exitCode = faults.length === 0 ? 0 : 1;
