import { adviseStar, measureFrame, readFrameFile, rigCamera } from '@holdfast/sim';
import { withError } from '@holdfast/sim/internal';
import type { Locator } from 'playwright-core';
import { expect, test } from 'vitest';
import { umPerRingPx } from '../../examples/notebook/compute/derived.ts';
import { skyMagnitudeOf } from '../../examples/notebook/compute/star-frame.ts';
import { frameState, ringFile } from './dropped-frame.ts';
import {
  drop,
  exampleRig,
  figureText,
  frames,
  keepInView,
  plain,
  seed,
  withNotebook,
} from './notebook-page.ts';

test('a FITS file that is dropped: ring, positions and advice are those of Node', async () => {
  const bytes = ringFile();
  const complaints = await withNotebook(async (page) => {
    await drop(page, 'mine.fits', bytes);
    await expect.poll(() => frameState(page)).toContain('mine.fits: 120 × 90 px, 1 star.');
    const read = await readFrameFile(bytes);
    expect(read.ok).toBe(true);
    if (!read.ok) return;
    const { measure, perRigExposure } = rigCamera(exampleRig, read);
    const [star] = measureFrame(read.image, measure);
    const { ring, light, positions } = star;
    expect(ring.ok).toBe(true);
    if (!ring.ok || !ring.absFocusShiftUm || !light) return;
    // The figure is drawn a moment after the words.
    const told = () => figureText(page, 'measured-ring');
    await expect.poll(told).toContain(`Ring of outer diameter ${withError(ring.outerDiameterPx)} px`);
    const mass = positions.centerOfMass;
    if (mass.ok)
      expect(await told()).toContain(`center of mass x ${mass.x.toFixed(3)}, y ${mass.y.toFixed(3)}`);
    const table = async () => plain(await page.locator('#stars-of-frame tbody').textContent());
    await expect.poll(table).toContain(withError(ring.absFocusShiftUm));
    const setting = { focusShiftUm: ring.absFocusShiftUm.value, fluxE: light.fluxE.value * perRigExposure };
    // The frame says how large the ring, how bright the star and how bright its sky is.
    const px = Number((setting.focusShiftUm / umPerRingPx(exampleRig)).toPrecision(3));
    const sky = skyMagnitudeOf(exampleRig, star.backgroundE.value * perRigExposure);
    await expect.poll(() => page.locator('#ring-px').inputValue()).toBe(String(px));
    expect(sky).toBeDefined();
    const rig = { ...exampleRig, sky: { ...exampleRig.sky, skyMagPerArcsec2: sky ?? 0 } };
    const advice = await adviseStar(rig, setting, { seed, trials: frames });
    const section = page.locator('section[aria-labelledby=advice-on-frame]');
    const seen = async (part: Locator) => {
      // What is looked at is simulated first.
      await keepInView(page, 'advice-on-frame');
      return plain(await part.textContent());
    };
    await expect.poll(() => seen(section.locator('.answer'))).not.toBe('');
    const error = advice.assessment.error.noiseEquivalentPx;
    expect(error).toBeDefined();
    if (error) await expect.poll(() => seen(section)).toContain(`${withError(error)} px`);
    expect(plain(await section.locator('.answer').textContent()).toLowerCase()).toContain(
      `${advice.outcome}: at`,
    );
    // The ring as fitted and the ring at the limit are drawn over the star, and the verdict stands above.
    await expect.poll(() => page.locator('#measured-ring circle[stroke-dasharray="6 5"]').count()).toBe(2);
    expect(await page.locator('#measured-ring svg[role=img]').textContent()).toContain('at the limit');
    // A ring that is wider than the picture ends at its edge.
    const overflow = await page
      .locator('#measured-ring svg svg')
      .evaluate((picture) => getComputedStyle(picture).overflow);
    expect(overflow).toBe('hidden');
    expect(plain(await page.locator('section[aria-labelledby=a-frame] .answer').textContent())).toBe(
      plain(await section.locator('.answer').textContent()),
    );
  });
  expect(complaints).toEqual([]);
});

test('the simulated frame is found as far out of focus as it was made', () =>
  withNotebook(async (page) => {
    await page.getByRole('button', { name: 'take a simulated frame' }).click();
    await expect.poll(() => frameState(page)).toContain('simulated.fits: 280 × 210 px');
    const first = plain(
      await page.locator('#stars-of-frame tbody tr.row').first().locator('td').last().textContent(),
    );
    const [value, error] = first.split(' ± ').map(Number);
    // Made 250 um out of focus: within four of its own standard errors.
    expect(Math.abs(value - 250)).toBeLessThan(4 * error);
    expect(error).toBeLessThan(25);
    // Its ring is drawn with a whole line where the table says, numbered, in the picture of the frame.
    const place = plain(
      await page.locator('#stars-of-frame tbody tr.row').first().locator('td').first().textContent(),
    );
    await expect.poll(() => figureText(page, 'whole-frame')).toMatch(/\d stars?, numbered by brightness/);
    const told = await figureText(page, 'whole-frame');
    const [, x, y] = /1 at x ([\d.]+), y ([\d.]+)/.exec(told) ?? [];
    const [, tableX, tableY] = /x ([\d.]+), y ([\d.]+)/.exec(place) ?? [];
    expect(Math.hypot(Number(x) - Number(tableX), Number(y) - Number(tableY))).toBeLessThan(1);
    const svg = page.locator('#whole-frame svg[role=img]');
    expect(await svg.locator('circle:not([stroke-dasharray])').count()).toBeGreaterThan(0);
    expect(await svg.locator('text').allTextContents()).toContain('1');
    expect(await svg.locator('image').getAttribute('href')).toMatch(/^data:image\/png/);
  }));
