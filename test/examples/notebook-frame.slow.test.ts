/** More of a frame that is given to the notebook: its header, and what is no frame. */
import { createImage } from '@holdfast/psf';
import { writeFits } from '@holdfast/sim';
import { expect, test } from 'vitest';
import { frameState, ringFile } from './dropped-frame.ts';
import { drop, keepInView, newPage, withNotebook } from './notebook-page.ts';

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
    await expect.poll(() => frameState(page)).toContain('No star was found');
    expect(await page.locator('#measured-ring').isVisible()).toBe(false);
    await drop(page, '<b>notes</b>.txt', new TextEncoder().encode('not a frame'));
    await expect.poll(() => frameState(page)).toContain('gives no image');
    expect(await frameState(page)).toContain('<b>notes</b>.txt');
    expect(await page.locator('.drop b, .state b').count()).toBe(0);
  }, newPage));
