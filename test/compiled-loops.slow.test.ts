/** The compiled loops, compiled again: it takes the compiler some ten seconds. */
import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { kernelFile } from '../packages/kernel.ts';

test('the module in the sources is what the compiler makes of kernel.ts', async () => {
  const file = readFileSync(new URL('../packages/psf/src/kernel/kernel-code.ts', import.meta.url), 'utf8');
  expect(await kernelFile()).toBe(file);
}, 120_000);
