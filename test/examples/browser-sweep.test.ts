/** The same bits in Node and in Chromium, on one thread and on module workers, from the same code. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { inCellOrder, parseRig, type SweepPlan, type SweepRow, sweep, sweepLines } from '@holdfast/sim';
import type { Browser, Page } from 'playwright-core';
import { build, defaultClientConditions, type PreviewServer, preview } from 'vite';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { freshFolder, repository } from './run-example.ts';
import { sharedBrowser } from './shared-browser.ts';

const rig: unknown = JSON.parse(readFileSync(join(repository, 'examples/rigs/fast-reflector.json'), 'utf8'));
const offAxis = {
  ...(rig as object),
  offAxis: { offAxisMm: 4, telescope: { design: 'paraboloid' }, clipDistance: 0.8 },
};
const plan: SweepPlan = { axes: { focusShiftUm: [0, 90, 260], snr: [15, 60] }, seed: 'bits', trials: 64 };

let server: PreviewServer;
let browser: Browser;
let page: Page;

beforeAll(async () => {
  const root = fileURLToPath(new URL('browser-sweep/', import.meta.url));
  const outDir = freshFolder();
  await build({
    root,
    logLevel: 'error',
    configFile: false,
    resolve: { conditions: ['@holdfast/source', ...defaultClientConditions] },
    worker: { format: 'es' },
    build: { target: 'es2022', outDir, emptyOutDir: true },
  });
  server = await preview({
    root,
    configFile: false,
    logLevel: 'error',
    build: { outDir },
    preview: { host: '127.0.0.1', port: 0 },
  });
  browser = await sharedBrowser();
  page = await browser.newPage();
  await page.goto(server.resolvedUrls?.local[0] as string);
  await page.waitForFunction('globalThis.runSweep !== undefined');
});

afterAll(async () => {
  await browser?.close();
  await server?.close();
});

async function inNode(of: unknown): Promise<string> {
  const rows: SweepRow[] = [];
  for await (const row of sweep(parseRig(of), plan)) rows.push(row);
  return sweepLines(inCellOrder(rows));
}

const inChromium = (of: unknown, workers: number): Promise<string> =>
  page.evaluate(`runSweep(${JSON.stringify(of)}, ${JSON.stringify(plan)}, ${workers})`) as Promise<string>;

test.each([
  ['a ring on the axis', rig],
  ['a clipped comet, drawn by rays', offAxis],
  ['a ring drawn by diffraction', { ...(rig as object), starModel: 'diffraction' }],
])('%s: the same rows to the bit, on the page and on two module workers', async (_, of) => {
  const here = await inNode(of);
  expect(here.split('\n').length).toBeGreaterThan(18);
  expect(await inChromium(of, 0)).toBe(here);
  expect(await inChromium(of, 2)).toBe(here);
});
