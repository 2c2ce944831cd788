/** A frame given to the notebook: measured there as the library measures it in Node. */
import { createImage, exposeFrame, randomStream, renderStar } from '@holdfast/psf';
import {
  adviseStar,
  buildScene,
  frameToFits,
  measureFrame,
  readFrameFile,
  rigCamera,
  writeFits,
} from '@holdfast/sim';
import { withError } from '@holdfast/sim/internal';
import type { Locator, Page } from 'playwright-core';
import { expect, test } from 'vitest';
import { umPerRingPx } from '../../examples/notebook/compute/derived.ts';
import { skyMagnitudeOf } from '../../examples/notebook/compute/star-frame.ts';
import {
  drop,
  exampleRig,
  figureText,
  frames,
  keepInView,
  newPage,
  plain,
  seed,
  withNotebook,
} from './notebook-page.ts';

/** A bright ring of 20 px on a frame that is not square, as the rig's camera writes it. */
function ringFile(telescope: Parameters<typeof frameToFits>[2] = {}): Uint8Array<ArrayBuffer> {
  const { camera, backgroundE } = buildScene(exampleRig, { focusShiftUm: 0 });
  const star = renderStar(
    { kind: 'annulus', outerDiameterPx: 20, obstructionRatio: 0.35, blurFwhmPx: 3 },
    { width: 120, height: 90, x: 70.3, y: 38.8, flux: 12_000 },
  );
  const expected = createImage(
    120,
    90,
    star.data.map((value) => value + backgroundE),
  );
  return frameToFits(exposeFrame(expected, camera, randomStream('notebook frame')), camera, telescope);
}

/** What is looked at is measured first; the page may still grow above it. */
async function state(page: Page): Promise<string | null> {
  await keepInView(page, 'a-frame');
  return page.locator('section[aria-labelledby=a-frame] .state').textContent();
}

test('a FITS file that is dropped: ring, positions and advice are those of Node', async () => {
  const bytes = ringFile();
  const complaints = await withNotebook(async (page) => {
    await drop(page, 'mine.fits', bytes);
    await expect.poll(() => state(page)).toContain('mine.fits: 120 × 90 px, 1 star.');
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

test('the header of a frame says what took it; what it does not say is asked for', () =>
  withNotebook(
    async (page) => {
      const first = (field: string) => page.locator(`[data-first="${field}"]`).inputValue();
      const said = async () => {
        await keepInView(page, 'a-frame');
        return page.locator('#from-frame').textContent();
      };
      await drop(page, 'guide.fits', ringFile({ focalLengthMm: 500, pixelSizeUm: 3.75 }));
      await expect.poll(said).toContain('Its header does not say: aperture.');
      expect(await said()).toContain('focal length 500 mm');
      expect(await first('telescope.focalLengthMm')).toBe('500');
      expect(await first('guideCamera.pixelSizeUm')).toBe('3.75');
      // 20 px at the F-number of 500 mm and the aperture that stands there.
      expect(await first('telescope.apertureMm')).toBe('120');
      await expect
        .poll(
          async () => Math.abs(Number(await page.locator('#ring-um').inputValue()) / (20 * 3.75 * 500)) * 120,
        )
        .toBeCloseTo(1, 1);
      // What the reader wrote stays, whatever a header says.
      await page.locator('[data-first="telescope.focalLengthMm"]').fill('600');
      await drop(page, 'other.fits', ringFile({ focalLengthMm: 510, pixelSizeUm: 3.75, apertureMm: 100 }));
      await expect.poll(said).toContain('From other.fits');
      expect(await first('telescope.focalLengthMm')).toBe('600');
    },
    // A state in the address would say that someone has typed this rig.
    { ...newPage, fragment: '' },
  ));

test('a file that is no frame, and a frame without a star, are refused in words', () =>
  withNotebook(async (page) => {
    const empty = createImage(64, 48);
    empty.data.fill(100);
    await drop(page, 'empty.fits', writeFits(empty));
    await expect.poll(() => state(page)).toContain('No star was found');
    expect(await page.locator('#measured-ring').isVisible()).toBe(false);
    await drop(page, '<b>notes</b>.txt', new TextEncoder().encode('not a frame'));
    await expect.poll(() => state(page)).toContain('gives no image');
    expect(await state(page)).toContain('<b>notes</b>.txt');
    expect(await page.locator('.drop b, .state b').count()).toBe(0);
  }, newPage));

test('the simulated frame is found as far out of focus as it was made', () =>
  withNotebook(async (page) => {
    await page.getByRole('button', { name: 'take a simulated frame' }).click();
    await expect.poll(() => state(page)).toContain('simulated.fits: 280 × 210 px');
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
