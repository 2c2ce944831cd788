/** The first screen: the imager's own question, answered where it is asked. */
import { adviseStar, focusLimit, startRig } from '@holdfast/sim';
import { significant } from '@holdfast/sim/internal';
import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import { firstRig, frames, newPage, plain, seed, withNotebook } from './notebook-page.ts';

const first = (page: Page, field: string) => page.locator(`[data-first="${field}"]`);
const head = async (page: Page) => plain(await page.locator('.verdict-head').textContent());
const words = async (page: Page) => plain(await page.locator('#verdict').textContent());

describe('my guide star is a ring of so many px', () => {
  test('verdict and limit are those of the library for the same numbers', () =>
    withNotebook(async (page) => {
      await first(page, 'telescope.apertureMm').fill('100');
      await first(page, 'telescope.focalLengthMm').fill('500');
      await first(page, 'guideCamera.pixelSizeUm').fill('3.75');
      await first(page, 'guideStar.magnitude').fill('13.5');
      await page.locator('#ring-px').fill('14');
      const { rig, absFocusShiftUm } = startRig({
        apertureMm: 100,
        focalLengthMm: 500,
        pixelSizeUm: 3.75,
        magnitude: 13.5,
        ringDiameterPx: 14,
        known: { starModel: 'geometric' },
      });
      const mine = { ...rig, guideFocusShiftUm: 0 };
      const limit = await focusLimit(mine, { seed, trials: frames });
      const setting = { focusShiftUm: absFocusShiftUm };
      const advice = await adviseStar(mine, setting, { seed, trials: frames });
      await expect.poll(() => words(page)).toContain(`${frames} simulated frames per ring).`);
      const { value } = limit.ringDiameterPx;
      expect(await words(page)).toContain(`up to a ring of ${significant(value, 2)} px`);
      await expect.poll(() => words(page)).toContain(`, ${advice.assessment.error.trials} simulated frames.`);
      expect((await head(page)).toLowerCase()).toContain(advice.outcome);
      expect(await page.locator('#ring-um').inputValue()).toBe(String(absFocusShiftUm));
      // The policy of the page lets compiled loops run, here and in its workers: an empty module compiles.
      const compiles = () => Boolean(new WebAssembly.Module(Uint8Array.of(0, 97, 115, 109, 1, 0, 0, 0)));
      expect(page.workers().length).toBeGreaterThan(0);
      expect(await page.evaluate(compiles)).toBe(true);
      for (const worker of page.workers()) expect(await worker.evaluate(compiles)).toBe(true);
    }, firstRig));

  test('px, µm, slider and the dragged edge are views of one number', () =>
    withNotebook(async (page) => {
      const px = () => page.locator('#ring-px').inputValue();
      await expect.poll(() => head(page)).toContain('KEEP');
      await page.locator('#ring-um').fill('446');
      expect(Number(await px())).toBeCloseTo(446 / (2.9 * 7), 6);
      await page.locator('#ring-px').fill('22');
      await expect.poll(() => page.locator('#ring-um').inputValue()).toBe('446.6');
      await page.locator('.ring-scale input').press('ArrowRight');
      expect(await px()).toBe('22.5');
      const box = await page.locator('.star-now canvas').first().boundingBox();
      if (box === null) throw new Error('no picture of the star');
      await page.mouse.move(box.x + box.width / 2 + 30, box.y + box.height / 2);
      await page.mouse.down();
      await page.mouse.move(box.x + box.width / 2 + 60, box.y + box.height / 2);
      await page.mouse.up();
      const dragged = Number(await px());
      expect(dragged).toBeGreaterThan(0);
      expect(dragged).not.toBe(22.5);
    }, firstRig));

  test('the report of chapter 1 is about the star with this ring, also after one that cannot be', () =>
    withNotebook(async (page) => {
      const row = async () =>
        plain(await page.locator('#advice-by-filter tbody tr.row').first().textContent());
      await expect.poll(row).toContain('ring 16.0 px');
      await page.locator('#ring-px').fill('wide');
      await expect
        .poll(() => page.locator('section[aria-labelledby=answer] .failure').textContent())
        .toContain('must be a number from 0 to');
      await page.locator('#ring-px').fill('20');
      await expect.poll(row).toContain('ring 20.0 px');
    }, firstRig));

  test('a kind of telescope fills its numbers, and an SNR gives a magnitude', () =>
    withNotebook(async (page) => {
      await page.locator('#telescope-kind').selectOption('Newtonian');
      expect(await first(page, 'telescope.focalLengthMm').inputValue()).toBe('800');
      expect(await first(page, 'telescope.obstructionRatio').inputValue()).toBe('0.35');
      await expect.poll(() => page.locator('#snr-now').inputValue()).not.toBe('');
      await page.locator('#snr-now').fill('40');
      await expect.poll(() => first(page, 'guideStar.magnitude').inputValue()).not.toBe('11');
    }, firstRig));

  test('question, star, verdict and filters are in the first 800 px of a laptop and two screens of a phone', () =>
    withNotebook(async (page) => {
      for (const [width, height, most] of [
        [1400, 800, 800],
        [390, 844, 2 * 844],
      ]) {
        await page.setViewportSize({ width, height });
        await expect.poll(() => head(page)).toMatch(/KEEP|TRIM|REFOCUS|LIMIT/);
        const box = await page.locator('.first-filters').boundingBox();
        expect((box?.y ?? Infinity) + (box?.height ?? 0)).toBeLessThanOrEqual(most);
        const verdict = await page.locator('.verdict-head').boundingBox();
        expect((verdict?.y ?? Infinity) + (verdict?.height ?? 0)).toBeLessThanOrEqual(height);
      }
      await page.setViewportSize(newPage.viewport);
    }, firstRig));
});
