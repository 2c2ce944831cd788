/** Colors of an achromat: against catalog values of its flint, and against the size that textbooks give. */
import { achromatSpread, colorFocusUm, renderStar } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';

describe('the secondary spectrum of an achromat', () => {
  test('F and C come together, 1 / 1700 to 1 / 2100 of the focal length behind e', () => {
    // Smith, Modern Optical Engineering, and telescope-optics.net 4.7.1 give about f / 2000 for common glass pairs (from memory).
    expect(1 / achromatSpread).toBeGreaterThan(1700);
    expect(1 / achromatSpread).toBeLessThan(2100);
    expectWithin(colorFocusUm(486.1327, 100), 100, 1e-9, 'by definition');
    expectWithin(colorFocusUm(656.2725, 100), 100, 1e-6, 'F and C are focused together');
    expectWithin(colorFocusUm(546.074, 100), 0, 1e-9, 'by definition');
  });
  test('violet lies far behind, and no color lies more than a tenth before green', () => {
    expect(colorFocusUm(404.66, 100)).toBeGreaterThan(400);
    for (let nm = 500; nm <= 640; nm += 10) expect(colorFocusUm(nm, 100)).toBeGreaterThan(-10);
  });
  test('widens a star drawn by diffraction as the discs of its colors do', () => {
    const star = (wavelengthNm: number | { wavelengthNm: number; weight: number; focusBehindUm: number }[]) =>
      renderStar(
        {
          kind: 'diffraction',
          pupil: { obstructionRatio: 0 },
          wavefront: {},
          fNumber: 5,
          wavelengthNm,
          pixelSizeUm: 3,
        },
        { width: 121, height: 121, x: 60, y: 60, flux: 1 },
      );
    const one = star([{ wavelengthNm: 550, weight: 1, focusBehindUm: 300 }]);
    const same = renderStar(
      {
        kind: 'diffraction',
        pupil: { obstructionRatio: 0 },
        wavefront: { focusShiftUm: -300 },
        fNumber: 5,
        wavelengthNm: 550,
        pixelSizeUm: 3,
      },
      { width: 121, height: 121, x: 60, y: 60, flux: 1 },
    );
    for (const [k, value] of one.data.entries()) expectWithin(value, same.data[k], 1e-12, 'the same wave');
  });
});
