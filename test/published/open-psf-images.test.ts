/**
 * Diffraction images that another project computed (GalSim-developers/GalSim at ee177aa5,
 * tests/Optics_comparison_images, BSD license): an annular pupil of obstruction 0.3, one Noll Zernike term of
 * 0.5 waves rms over the full circle, pixels of 0.2 lambda / D, pupil function exp(+2 pi i W) and transform
 * exp(-2 pi i u . x).
 */
import { renderStar } from '@holdfast/psf';
import { expect, test } from 'vitest';
import { readFits } from '../../packages/sim/src/frame/index.ts';
import { expectWithin } from '../expect-within.ts';
import { readOpenData } from '../open-data.ts';

const side = 128;
const middle = 63.5;

for (const [name, noll] of [
  ['defocus', 4],
  ['coma1', 7],
  ['spher', 11],
] as const)
  test(`psf-images/optics_${name}.fits: Z${noll} of 0.5 waves`, () => {
    const read = readFits(readOpenData(`psf-images/optics_${name}.fits`));
    if (!read.ok) throw new Error(read.reason);
    const theirs = new Float64Array(side * side);
    for (let j = 0, k = 0; j < side; j++)
      for (let i = 0; i < side; i++, k++) theirs[k] = read.image.get(j, i);
    // lambda F = 1 um, 0.5 waves = 250 nm.
    const ours = renderStar(
      {
        kind: 'diffraction',
        pupil: { obstructionRatio: 0.3 },
        wavefront: { zernikesNm: { [noll]: 250 } },
        fNumber: 2,
        wavelengthNm: 500,
        pixelSizeUm: 0.2,
      },
      { width: side, height: side, x: middle, y: middle, flux: 1 },
    ).data;
    const [a, b] = [moments(ours), moments(theirs)];
    expectWithin(a.light, b.light, 3e-3, 'the images were coarsely sampled: 0.3 % of the flux');
    expectWithin(a.x, b.x, 0.03, 'and 0.03 px of the center of mass');
    expectWithin(a.y, b.y, 0.03, 'and 0.03 px of the center of mass');
    const brightest = Math.max(...theirs);
    for (let k = 0; k < ours.length; k++)
      expectWithin(ours[k], theirs[k], 0.11 * brightest, 'and 11 % of the peak in single pixels');
    // Not only near each other, but far from all others: the term shows.
    if (name === 'coma1') expect(a.y - middle).toBeGreaterThan(12);
    else expectWithin(a.y, middle, 1e-6, 'a symmetric star');
  });

function moments(image: Float64Array): { light: number; x: number; y: number } {
  let [light, x, y] = [0, 0, 0];
  image.forEach((value, k) => {
    light += value;
    x += value * (k % side);
    y += value * Math.floor(k / side);
  });
  return { light, x: x / light, y: y / light };
}
