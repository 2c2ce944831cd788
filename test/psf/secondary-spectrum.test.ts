/** Colors of an achromat: against catalog values of its flint, and against the size that textbooks give. */
import { achromatSpread, colorFocusUm, glassIndex, renderStar } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { flintIndex } from '../../packages/psf/src/optics/secondary-spectrum.ts';
import { expectWithin } from '../expect-within.ts';

const crownIndex = (wavelengthNm: number): number => glassIndex('N-BK7', wavelengthNm);

describe('the glasses of that achromat', () => {
  // SCHOTT catalog: N-BK7 n_d 1.51680, V_d 64.17; F2 n_d 1.62004, V_d 36.37 (from memory).
  for (const [name, index, nd, vd] of [
    ['N-BK7', crownIndex, 1.5168, 64.17],
    ['F2', flintIndex, 1.62004, 36.37],
  ] as const)
    test(`${name}: index at the d line and Abbe number of the catalog`, () => {
      const [f, d, c] = [486.1327, 587.5618, 656.2725].map(index);
      expectWithin(d, nd, 6e-6, 'five digits');
      expectWithin((d - 1) / (f - c), vd, 0.006, 'two digits');
    });
});

describe('the secondary spectrum of an achromat', () => {
  test('of this very pair, by power and Abbe numbers: P1 - P2 over V1 - V2', () => {
    // Textbook (Smith, Modern Optical Engineering, from memory): df / f = (P1 - P2) / (V1 - V2), with V and P
    // about one line, here e.
    const e = 546.074;
    const [f, c] = [486.1327, 656.2725];
    const v = (n: (nm: number) => number) => (n(e) - 1) / (n(f) - n(c));
    const p = (n: (nm: number) => number) => (n(f) - n(e)) / (n(f) - n(c));
    const expected = (p(flintIndex) - p(crownIndex)) / (v(crownIndex) - v(flintIndex));
    expectWithin(achromatSpread, expected, 0.002 * expected, 'first order in the spread');
  });
  test('F and C come together, 1 / 1700 to 1 / 2100 of the focal length behind e', () => {
    // Smith, Modern Optical Engineering, and telescope-optics.net 4.7.1 give about f / 2000 for common glass
    // pairs (from memory).
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
