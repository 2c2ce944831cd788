/** The compiled loops, compiled again: the compiler is fetched where it is missing, and takes ten seconds. */
import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { kernelFile } from '../packages/kernel.ts';

test('the module in the sources is what the compiler makes of kernel.ts', () => {
  const file = readFileSync(new URL('../packages/psf/src/kernel/kernel-code.ts', import.meta.url), 'utf8');
  expect(kernelFile()).toBe(file);
});
