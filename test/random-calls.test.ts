/**
 * A short form of `npm run soak -- calls rigs files`: what random calls, rigs and damaged files may not do.
 * `random-calls.slow.test.ts` has more of them.
 */
import { describe, expect, test } from 'vitest';
import { callCases, forgottenFunctions, slowCalls } from './soak/call-cases.ts';
import { mutatedFile, runFile } from './soak/mutated-file.ts';
import { randomCall } from './soak/random-call.ts';
import { randomRig } from './soak/random-rig.ts';
import { runRig } from './soak/run-rig.ts';
import { seededNumbers } from './soak/seeded-numbers.ts';

test('every exported function has random calls, or a reason for having none', () => {
  expect(forgottenFunctions()).toEqual([]);
});

describe.each(callCases.map((one) => [one.name, one] as const))('%s', (name, one) => {
  test('answers random calls with finite numbers, or refuses them in words of its own', () => {
    expect(() => one.call(...(one.args() as never[]))).not.toThrow();
    const uniform = seededNumbers(name);
    const faults = Array.from({ length: slowCalls.includes(name) ? 2 : 20 }, () => randomCall(one, uniform));
    expect(faults.filter((fault) => fault !== undefined)).toEqual([]);
  });
});

test('random rigs run, by rays, at one of their filters each', () => {
  const uniform = seededNumbers('some rigs');
  const faults = Array.from({ length: 30 }, () => {
    const { rig } = randomRig(uniform);
    return runRig({ ...rig, starModel: 'geometric' }, Math.floor(uniform() * rig.filters.length), 31);
  });
  expect(faults.filter((fault) => fault !== undefined)).toEqual([]);
});

test('damaged frames are measured, or refused with a reason', async () => {
  const uniform = seededNumbers('some files');
  for (let k = 0; k < 20; k++) expect(await runFile(mutatedFile(uniform))).toBeUndefined();
});
