/**
 * The page while its first slider moves for some minutes (`HOLDFAST_SLIDER_MINUTES`, 8 by default, an hour by
 * hand): the heap after collection, its slope and the slope's error. A leak of one star's picture per move
 * would be 30 kB per move.
 */
import { existsSync } from 'node:fs';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { chromium } from 'playwright-core';
import { browserOptions } from '../examples/browser.ts';
import { lineThrough } from './slope.ts';

const minutes = Number(process.env['HOLDFAST_SLIDER_MINUTES'] ?? 8);
const samples = 40;
/** A slope below this is flat, bytes per move. */
const flatBytes = 1000;

const file = fileURLToPath(new URL('../../examples/dist/notebook/index.html', import.meta.url));
if (!existsSync(file)) throw new Error(`no page at ${file}: npm run build`);
const browser = await chromium.launch(browserOptions());
const page = await browser.newPage({ viewport: { width: 1200, height: 900 } });
const failures: string[] = [];
page.on('pageerror', ({ message }) => failures.push(message));
await page.goto(pathToFileURL(file).href);
const slider = page.locator('.ring-scale input');
await slider.waitFor();
const devtools = await page.context().newCDPSession(page);
await devtools.send('HeapProfiler.enable');

const heap: number[] = [];
let moves = 0;
for (let sample = 0; sample < samples; sample++) {
  const end = performance.now() + (minutes * 60_000) / samples;
  while (performance.now() < end) {
    // To and fro over small and large rings, so that each move asks for another star.
    await slider.press(Math.floor(moves / 40) % 2 === 0 ? 'ArrowRight' : 'ArrowLeft');
    moves++;
  }
  await devtools.send('HeapProfiler.collectGarbage');
  const { usedSize } = await devtools.send('Runtime.getHeapUsage');
  heap.push(usedSize);
}
await browser.close();

const perSample = moves / samples;
// The first samples fill the memory of recent answers.
const { slope, offset } = lineThrough(heap.slice(samples / 5));
const perMove = slope.value / perSample;
const error = slope.standardError / perSample;
console.log(
  `sliders: ${moves} moves in ${minutes} minutes; ${(offset.value / 1e6).toFixed(1)} MB; ` +
    `${perMove.toFixed(0)} ± ${error.toFixed(0)} bytes per move; ${failures.length} faults`,
);
for (const failure of failures.slice(0, 5)) console.log(failure);
process.exitCode = failures.length === 0 && perMove < flatBytes + 3 * error ? 0 : 1;
