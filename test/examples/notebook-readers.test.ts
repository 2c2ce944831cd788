/** The whole notebook with everything in it computed: for every reader, on every width, and light enough. */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { gzipSync } from 'node:zlib';
import type { Page } from 'playwright-core';
import { beforeAll, expect, test } from 'vitest';
import { notebook, type OpenNotebook, openNotebook, setField } from './notebook-page.ts';
import { bytesOf } from './shared-browser.ts';

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

/** Everything computed, as for print, and unfolded; of the many tables of published numbers, two. */
async function fill(page: Page): Promise<void> {
  await page.getByRole('button', { name: 'take a simulated frame' }).click();
  await page.evaluate(() => {
    globalThis.print = () => document.body.classList.add('printed');
  });
  await page.getByRole('button', { name: 'print', exact: true }).click();
  await page.locator('body.printed').waitFor();
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

let opened: OpenNotebook;
/** Height of each figure's place, px, before anything was drawn in it and after. */
let rooms: Record<string, number>;
let drawn: Record<string, number>;

const heights = () =>
  page.evaluate(() =>
    Object.fromEntries(
      [...document.querySelectorAll('figure')].map((figure) => [
        figure.id,
        figure.querySelector('.plate')?.clientHeight ?? 0,
      ]),
    ),
  );

let page: Page;

// Filled once for all tests here: that computes everything that the page holds.
beforeAll(async () => {
  opened = await openNotebook();
  page = opened.page;
  rooms = await heights();
  await fill(page);
  drawn = await heights();
});

test('for print every chapter is computed, to the last table', async () => {
  expect(await page.locator('.plate:empty').count()).toBe(0);
  expect(await page.locator('.stale').count()).toBe(0);
  expect(await page.locator('#published-checks table').count()).toBeGreaterThan(20);
});

test('a figure finds its room when it is drawn: the page does not jump', () => {
  // That of the own frame is hidden until there is one.
  const { 'measured-ring': _, ...others } = rooms;
  expect(Object.keys(others).length).toBeGreaterThan(10);
  const jumps = Object.entries(others).filter(
    ([figure, room]) => Math.abs(drawn[figure] - room) > Math.max(60, 0.15 * drawn[figure]),
  );
  expect(jumps.map(([figure, room]) => `${figure}: ${room} to ${drawn[figure]} px`)).toEqual([]);
});

test('every figure is named, captioned and tells its numbers; every one is saved as SVG and PNG', async () => {
  const figures = await page.locator('figure').all();
  expect(figures.length).toBeGreaterThan(10);
  for (const figure of figures) {
    const told = (await figure.locator('svg[role=img]').getAttribute('aria-label')) ?? '';
    expect(told).toMatch(/\d/);
    expect(told).not.toMatch(/NaN|undefined|Infinity/);
    expect(await figure.locator('svg[role=img]').evaluate((svg) => svg.outerHTML)).not.toMatch(
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
      expect((await bytesOf(download)).toString('latin1', 0, 4)).toBe(start);
      // Chromium takes no more than ten files a second from a page, and drops the eleventh without a word.
      await page.waitForTimeout(120);
    }
  }
});

// Rules apply in both colors and at both widths; that none depends on the pair saves half of the long runs
// over the whole page. `page.test.ts` runs all four pairs on the chapter of the report.
test('no accessibility fault and no overflow, light, dark and night, 1200 and 360 px wide', async () => {
  // A fault of the rig is part of the page, too.
  await setField(page, 'telescope.obstructionRatio', '1.5');
  await page.evaluate(axe);
  for (const [colorScheme, width, isExamined] of [
    ['light', 1200, true],
    ['dark', 1200, false],
    ['dark', 360, true],
    ['light', 360, false],
    ['night', 1200, true],
  ] as const) {
    await page.evaluate((theme) => {
      if (theme === 'night') document.documentElement.dataset['theme'] = theme;
    }, colorScheme);
    await page.setViewportSize({ width, height: 800 });
    await page.emulateMedia({ colorScheme: colorScheme === 'night' ? 'dark' : colorScheme });
    const widths = () =>
      page.evaluate(() =>
        [...document.querySelectorAll('figure svg[role=img]')].map((svg) => svg.clientWidth),
      );
    await expect.poll(async () => Math.max(...(await widths()))).toBeLessThanOrEqual(width);
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(width);
    if (!isExamined) continue;
    const faults = await page.evaluate(async () => {
      const { axe } = globalThis as unknown as {
        axe: { run(): Promise<{ violations: { id: string; nodes: { html: string }[] }[] }> };
      };
      const { violations } = await axe.run();
      return violations.map(({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html).join(' ')}`);
    });
    expect(faults, `${colorScheme}, ${width} px`).toEqual([]);
  }
});

test('complains of nothing and asks nothing of a network', () => {
  expect(opened.complaints).toEqual([]);
});

test('weighs less than 1 MB as sent', () => {
  expect(gzipSync(readFileSync(new URL(notebook))).length).toBeLessThan(1e6);
});
