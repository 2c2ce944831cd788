import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import { firstRig, newPage, plain, withNotebook } from './notebook-page.ts';

const first = (page: Page, field: string) => page.locator(`[data-first="${field}"]`);
const head = async (page: Page) => plain(await page.locator('.verdict-head').textContent());

describe('my guide star is a ring of so many px', () => {
  test('what was assumed is listed, with what matters most', () =>
    withNotebook(async (page) => {
      await first(page, 'guideStar.magnitude').fill('14');
      await expect.poll(() => page.locator('.which-star').textContent()).toContain('a star on the axis');
      const line = page.locator('.assumptions summary');
      await expect.poll(() => line.textContent()).toContain('moves the limit from');
      expect(await page.locator('.assumptions li').count()).toBe(30);
    }, firstRig));

  test('the verdict is told to who listens, and the first key goes to a link past the first screen; by night only long wavelengths shine, and the theme is remembered', () =>
    withNotebook(
      async (page) => {
        expect(await page.locator('#verdict').getAttribute('aria-live')).toBe('polite');
        await page.keyboard.press('Tab');
        expect(await page.evaluate(() => document.activeElement?.className)).toBe('skip');
        await page.getByRole('button', { name: 'night' }).click();
        await page.reload();
        await expect.poll(() => head(page)).toMatch(/KEEP|TRIM|REFOCUS|LIMIT/);
        // The star follows the verdict.
        await page.locator('#star-now canvas[aria-label]').waitFor();
        const colors = await page.evaluate(() => {
          const names = ['color', 'backgroundColor', 'borderTopColor', 'fill', 'stroke'] as const;
          const all = [...document.querySelectorAll('*')].flatMap((part) => {
            const style = getComputedStyle(part);
            return names.map((name) => style[name]);
          });
          const canvas = document.querySelector<HTMLCanvasElement>('#star-now canvas');
          const pixels = canvas?.getContext('2d')?.getImageData(0, 0, canvas.width, canvas.height).data ?? [];
          return { all: [...new Set(all)], pixels: Array.from(pixels) };
        });
        const seen = colors.all.flatMap((color) => {
          const [red, green, blue, opacity = 1] = (color.match(/[\d.]+/g) ?? []).map(Number);
          return red === undefined || opacity === 0 ? [] : [{ red, green, blue }];
        });
        expect(seen.some(({ red }) => red > 0)).toBe(true);
        // What is never drawn, as the fill of what is no figure, is black.
        expect(seen.filter(({ green, blue }) => green > 0 || blue > 0)).toEqual([]);
        expect(colors.pixels.some((value, k) => k % 4 === 0 && value > 0)).toBe(true);
        expect(colors.pixels.some((value, k) => (k % 4 === 1 || k % 4 === 2) && value > 0)).toBe(false);
      },
      { ...newPage, ...firstRig },
    ));
});
