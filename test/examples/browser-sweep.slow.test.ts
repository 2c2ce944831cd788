/** The same bits in Node and in Chromium, on one thread and on module workers, from the same code. */
import { fileURLToPath } from 'node:url';
import { inCellOrder, parseRig, type SweepPlan, type SweepRow, sweep, sweepLines } from '@holdfast/sim';
import type { Browser, Page } from 'playwright-core';
import { build, defaultClientConditions, type PreviewServer, preview } from 'vite';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { smallText } from './plain-rig.ts';
import { freshFolder } from './run-example.ts';
import { sharedBrowser } from './shared-browser.ts';

/**
 * Equal bits need no statistics: a few frames of each. The star is on the axis, by rays, where nothing else
 * is said.
 */
const rig = smallText('fast-reflector');
const telescope = { ...(rig['telescope'] as object), design: { kind: 'paraboloid' } };
const offAxis = { ...rig, telescope, offAxis: { offAxisMm: 4, clipDistance: 0.8 } };
const plan: SweepPlan = { axes: { focusShiftUm: [0, 160], snr: [15] }, seed: 'bits', trials: 16 };
/** Other stars are slower, and what follows them is the same code. */
const three: SweepPlan = {
  ...plan,
  axes: { ...plan.axes, estimator: ['centerOfMass', 'gaussianFit', 'templateFit'] },
};

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

async function inNode(of: unknown, asked = plan): Promise<string> {
  const rows: SweepRow[] = [];
  for await (const row of sweep(parseRig(of), asked)) rows.push(row);
  return sweepLines(inCellOrder(rows));
}

const inChromium = (of: unknown, asked: SweepPlan, workers: number): Promise<string> =>
  page.evaluate(`runSweep(${JSON.stringify(of)}, ${JSON.stringify(asked)}, ${workers})`) as Promise<string>;

test.each([
  ['a ring on the axis', rig, plan, 14],
  ['a clipped comet, drawn by rays', offAxis, three, 6],
  ['a ring drawn by diffraction', { ...rig, starModel: 'diffraction' }, three, 6],
])('%s: the same rows to the bit, on the page and on two module workers', async (_, of, asked, least) => {
  const here = await inNode(of, asked);
  expect(here.split('\n').length).toBeGreaterThan(least);
  expect(await inChromium(of, asked, 0)).toBe(here);
  expect(await inChromium(of, asked, 2)).toBe(here);
});

test('the same rows from a module worker, alone and with workers of its own', async () => {
  const here = await inNode(rig, three);
  for (const workers of [0, 2])
    expect(
      await page.evaluate(`sweepInWorker(${JSON.stringify(rig)}, ${JSON.stringify(three)}, ${workers})`),
    ).toBe(here);
});
