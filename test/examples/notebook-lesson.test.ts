/** The lesson, the comparison of two rigs, and the page on paper. */
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { figureText, keepInView, plain, withNotebook } from './notebook-page.ts';
import { sharedBrowser } from './shared-browser.ts';

let browser: Browser;
beforeAll(async () => {
  browser = await sharedBrowser();
});
afterAll(async () => {
  await browser?.close();
});

const rmsOf = async (page: Page): Promise<number> =>
  Number(/Rms error, one axis: (?:less than )?([\d.]+) px/.exec(await figureText(page, 'lesson'))?.[1]);
const responseOf = async (page: Page): Promise<number> =>
  Number(/follows ([\d.]+) %/.exec(await figureText(page, 'lesson'))?.[1]);
const turn = (page: Page, name: string) => page.locator(`[data-control="lesson ${name}"] input`).check();

test('what spoils a center of mass is switched on one by one, and mended', () =>
  withNotebook(browser, async (page) => {
    await expect.poll(() => rmsOf(page)).toBeLessThan(0.03);
    await turn(page, 'photons');
    await expect.poll(() => rmsOf(page)).toBeGreaterThan(0.03);
    const photons = await rmsOf(page);
    await turn(page, 'sky');
    await expect.poll(() => rmsOf(page)).toBeGreaterThan(1.5 * photons);
    const sky = await rmsOf(page);
    await page.locator('[data-control=lessonMend] select').selectOption('template');
    await expect.poll(() => rmsOf(page)).toBeLessThan(0.7 * sky);
    await page.locator('[data-control=lessonMend] select').selectOption('nothing');
    // The trap: less scatter than before, and hardly any response.
    await turn(page, 'window');
    await expect.poll(() => responseOf(page)).toBeLessThan(60);
    await page.locator('[data-control=lessonMend] select').selectOption('refocus');
    await expect.poll(() => responseOf(page)).toBeGreaterThan(80);
  }));

test('two rigs: what differs is listed, with a Barlow lens half the ring', () =>
  withNotebook(browser, async (page) => {
    await keepInView(page, 'two-rigs-table');
    const words = async () => plain(await page.locator('#two-rigs-table tbody').textContent());
    await expect.poll(words).toContain('F-number4.008.00');
    await expect.poll(words).toContain('limit, as a ring');
    expect(await words()).not.toContain('read noise');
  }));

test('on paper: the hand-out is two pages, the notebook at most twelve', () =>
  withNotebook(browser, async (page) => {
    const pages = async () =>
      (await page.pdf({ format: 'A4' })).toString('latin1').match(/\/Type\s*\/Page[^s]/g)?.length;
    await expect.poll(() => page.locator('#error-against-focus-shift svg').count()).toBeGreaterThan(0);
    expect(await pages()).toBeLessThanOrEqual(12);
    await page.evaluate(() => document.documentElement.classList.add('handout-only'));
    expect(await pages()).toBe(2);
  }));
