/** The lesson with its hand-out, and the comparison of two rigs. */
import type { Page } from 'playwright-core';
import { expect, test } from 'vitest';
import { figureText, keepInView, pagesOf, plain, withNotebook } from './notebook-page.ts';

/** Offset, scatter, response and noise-equivalent error as the figure tells them; NaN for none. */
const told = async (page: Page, part: string): Promise<number> =>
  Number(
    new RegExp(`${part} (?:less than )?(-?[\\d.]+) (?:px|%)`).exec(await figureText(page, 'lesson'))?.[1],
  );
const response = (page: Page) => told(page, 'Response');
const noise = (page: Page) => told(page, '\\(scatter divided by response\\)');
const turn = (page: Page, name: string) => page.locator(`[data-control="lesson ${name}"] input`).click();
const mend = (page: Page, way: string) => page.locator('[data-control=lessonMend] select').selectOption(way);
const lost = async (page: Page) => Number(/, (\d+) without/.exec(await figureText(page, 'lesson'))?.[1]);

test('what spoils a center of mass is switched on one by one, and mended', () =>
  withNotebook(async (page) => {
    // A perfect ring: no error at all, and the position follows the star wholly.
    await expect
      .poll(() => figureText(page, 'lesson'))
      .toContain('(scatter divided by response) less than 0.001 px');
    expect(await told(page, 'Offset')).toBeLessThan(0.03);
    expect(await response(page)).toBe(100);
    await turn(page, 'photons');
    await expect.poll(() => noise(page)).toBeGreaterThan(0.03);
    const photons = await noise(page);
    await turn(page, 'sky');
    await expect.poll(() => noise(page)).toBeGreaterThan(1.5 * photons);
    const sky = await noise(page);
    await mend(page, 'template');
    await expect.poll(() => noise(page)).toBeLessThan(0.7 * sky);
    // The template knows the star: it finds it in every frame.
    expect(await lost(page)).toBe(0);
    await mend(page, 'nothing');
    await expect.poll(() => noise(page)).toBe(sky);
    // The trap: less scatter than before, and hardly any response.
    const wide = await told(page, 'Scatter');
    await turn(page, 'window');
    await expect.poll(() => response(page)).toBeLessThan(60);
    expect(await told(page, 'Scatter')).toBeLessThan(wide);
    await mend(page, 'refocus');
    await expect.poll(() => response(page)).toBeGreaterThan(80);
    await mend(page, 'nothing');
    await turn(page, 'window');
    await expect.poll(() => noise(page)).toBe(sky);
    const [alone] = [await told(page, 'Offset')];
    // A clipped beam and a neighbor move the position without adding to its scatter.
    await turn(page, 'neighbor');
    await expect.poll(() => told(page, 'Offset')).toBeGreaterThan(alone + 1);
  }));

test('two rigs: what differs is listed, with a Barlow lens half the ring', () =>
  withNotebook(async (page) => {
    await keepInView(page, 'two-rigs-table');
    const words = async () => plain(await page.locator('#two-rigs-table tbody').textContent());
    await expect.poll(words).toContain('F-number4.008.00');
    await expect.poll(words).toContain('limit, as a ring');
    expect(await words()).not.toContain('read noise');
  }));

test('a friend’s rig from a file stands beside mine, from four numbers or whole', () =>
  withNotebook(async (page) => {
    await keepInView(page, 'two-rigs-table');
    const friend = { telescope: { apertureMm: 100, focalLengthMm: 500 }, guideCamera: { pixelSizeUm: 2.9 } };
    await page.locator('#friend-file').setInputFiles({
      name: 'friend.json',
      mimeType: 'application/json',
      buffer: Buffer.from(JSON.stringify({ ...friend, starModel: 'geometric' })),
    });
    const words = async () => plain(await page.locator('#two-rigs-table tbody').textContent());
    await expect.poll(words).toContain('F-number4.005.00');
    expect(await words()).toContain('telescope: aperture, mm200100');
    expect(await words()).toContain('guide camera: pixel size, µm3.752.9');
    await expect.poll(words).toContain('limit, as a ring');
  }));

test('on paper the hand-out is two pages', () =>
  withNotebook(async (page) => {
    await page.evaluate(() => document.documentElement.classList.add('handout-only'));
    expect(await pagesOf(page)).toBe(2);
    await page.evaluate(() => document.documentElement.classList.remove('handout-only'));
  }));
