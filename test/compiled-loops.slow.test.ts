/** The compiled loops, compiled again: the compiler is fetched where it is missing, and takes ten seconds. */
import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { kernelFile, kernelNames, kernelTarget } from '../packages/kernel.ts';

test.each(kernelNames)('the module in the sources is what the compiler makes of %s.ts', (name) => {
  expect(kernelFile(name)).toBe(readFileSync(kernelTarget(name), 'utf8'));
});
