/** The whole notebook with everything in it computed: for every reader, on every width, and light enough. */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { gzipSync } from 'node:zlib';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { launchBrowser } from './browser.ts';
import { keepInView, notebook, setField, withNotebook } from './notebook-page.ts';

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

let browser: Browser;
beforeAll(async () => {
  browser = await launchBrowser();
});
afterAll(async () => {
  await browser?.close();
});

const patience = { timeout: 150_000 };

/** Everything seen, measured and unfolded; of the many tables of published numbers, two. */
async function fill(page: Page): Promise<void> {
  await page.getByRole('button', { name: 'take a simulated frame' }).click();
  for (const figure of await page.locator('figure').all()) {
    const id = (await figure.getAttribute('id')) ?? '';
    const drawn = async () => {
      await keepInView(page, id);
      return page.locator(`#${id} svg[role=img]`).count();
    };
    await expect.poll(drawn, patience).toBe(1);
  }
  const groups = page.locator('.check-groups details');
  const listed = async () => {
    await keepInView(page, 'how-we-know');
    return groups.count();
  };
  await expect.poll(listed, patience).toBeGreaterThan(1);
  await page.evaluate(() => {
    for (const details of document.querySelectorAll('details'))
      if (details.closest('.check-groups') === null) details.open = true;
    for (const details of [...document.querySelectorAll<HTMLDetailsElement>('.check-groups details')].slice(
      0,
      2,
    ))
      details.open = true;
  });
}

test('no accessibility fault and no overflow, light and dark, 1200 and 360 px wide', async () => {
  const complaints = await withNotebook(browser, async (page) => {
    await fill(page);
    // A fault of the rig is part of the page, too.
    await setField(page, 'telescope.obstructionRatio', '1.5');
    await page.evaluate(axe);
    for (const width of [1200, 360])
      for (const colorScheme of ['light', 'dark'] as const) {
        await page.setViewportSize({ width, height: 800 });
        await page.emulateMedia({ colorScheme });
        const widths = () =>
          page.evaluate(() =>
            [...document.querySelectorAll('figure svg[role=img]')].map((svg) => svg.clientWidth),
          );
        await expect.poll(async () => Math.max(...(await widths())), patience).toBeLessThanOrEqual(width);
        const faults = await page.evaluate(async () => {
          const { axe } = globalThis as unknown as {
            axe: { run(): Promise<{ violations: { id: string; nodes: { html: string }[] }[] }> };
          };
          const { violations } = await axe.run();
          return violations.map(({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html).join(' ')}`);
        });
        expect(faults, `${colorScheme}, ${width} px`).toEqual([]);
        expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(width);
      }
  });
  expect(complaints).toEqual([]);
});

test('every figure is named, captioned and tells its numbers; every one is saved as SVG and PNG', () =>
  withNotebook(browser, async (page) => {
    await fill(page);
    for (const figure of await page.locator('figure').all()) {
      const told = (await figure.locator('svg[role=img]').getAttribute('aria-label')) ?? '';
      expect(told).toMatch(/\d/);
      expect(told).not.toMatch(/NaN|undefined|Infinity/);
      expect(await figure.locator('svg').evaluate((svg) => svg.outerHTML)).not.toMatch(
        /NaN|undefined|Infinity/,
      );
      for (const [kind, start] of [
        ['SVG', '<svg'],
        ['PNG', '\u0089PNG'],
      ] as const) {
        const [download] = await Promise.all([
          page.waitForEvent('download'),
          figure.getByRole('button', { name: `save as ${kind}` }).click(),
        ]);
        expect(readFileSync(await download.path(), 'latin1').slice(0, 4)).toBe(start);
        // Chromium takes no more than ten files a second from a page, and drops the eleventh without a word.
        await page.waitForTimeout(120);
      }
    }
  }));

test('weighs less than 1 MB as sent', () => {
  expect(gzipSync(readFileSync(new URL(notebook))).length).toBeLessThan(1e6);
});
