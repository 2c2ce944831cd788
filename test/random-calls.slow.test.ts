/** Many random calls and rigs: `random-calls.test.ts` has some, `npm run soak` a hundred times as many. */
import { describe, expect, test } from 'vitest';
import { callCases, slowCalls } from './soak/call-cases.ts';
import { mutatedFile, runFile } from './soak/mutated-file.ts';
import { randomCall } from './soak/random-call.ts';
import { randomRig } from './soak/random-rig.ts';
import { runRig } from './soak/run-rig.ts';
import { seededNumbers } from './soak/seeded-numbers.ts';

describe.each(callCases.map((one) => [one.name, one] as const))('%s', (name, one) => {
  test('answers a thousand random calls with finite numbers, or refuses them in words of its own', () => {
    const uniform = seededNumbers(`many ${name}`);
    const number = slowCalls.includes(name) ? 50 : 1000;
    const faults = Array.from({ length: number }, () => randomCall(one, uniform));
    expect(faults.filter((fault) => fault !== undefined)).toEqual([]);
  });
});

test('two thousand random rigs run, by rays, at one of their filters each', () => {
  const uniform = seededNumbers('many rigs');
  const faults = Array.from({ length: 2000 }, () => {
    const { rig } = randomRig(uniform);
    return runRig({ ...rig, starModel: 'geometric' }, Math.floor(uniform() * rig.filters.length), 31);
  });
  expect(faults.filter((fault) => fault !== undefined)).toEqual([]);
});

test('damaged frames are measured, or refused with a reason', async () => {
  const uniform = seededNumbers('more files');
  for (let k = 0; k < 200; k++) expect(await runFile(mutatedFile(uniform))).toBeUndefined();
});
