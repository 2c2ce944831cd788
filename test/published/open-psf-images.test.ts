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
    // Single pixels: the brightest ones, and every 53rd of the next ones, against the integral itself.
    const order = Array.from(ours.keys()).sort((p, q) => ours[q] - ours[p]);
    const pixels = [
      ...order.slice(0, 40),
      ...order
        .slice(40)
        .filter((_, k) => k % 53 === 0)
        .slice(0, 40),
    ];
    const brightest = Math.max(...theirs);
    let theirError = 0;
    for (const k of pixels) {
      const truth = integrated(noll, (k % side) - middle, Math.floor(k / side) - middle);
      expectWithin(ours[k], truth, 1e-4 * brightest, '1e-4 of the peak');
      theirError = Math.max(theirError, Math.abs(theirs[k] - truth));
    }
    // so much is the coarse sampling of the files themselves
    expectWithin(theirError / brightest, theirLargest[noll], 0.002, 'their largest error, as it was found');
    // Not only near each other, but far from all others: the term shows.
    if (name === 'coma1') expect(a.y - middle).toBeGreaterThan(12);
    else expectWithin(a.y, middle, 1e-6, 'a symmetric star');
  });

/** Points and weights of Gauss and Legendre's rule of three points on a pixel of side 1. */
const gauss = [
  [-Math.sqrt(0.15), 5 / 18],
  [0, 8 / 18],
  [Math.sqrt(0.15), 5 / 18],
] as const;

/** Largest error of their files over the peak, as this integral tells it. */
const theirLargest = { 4: 0.037, 7: 0.074, 11: 0.033 } as const;

const obstruction = 0.3;
const rings = 32;
const spokes = 128;

/** Noll's terms (Noll 1976, J. Opt. Soc. Am. 66, 207), over the full circle. */
const terms: Record<4 | 7 | 11, (r: number, sin: number) => number> = {
  4: (r) => Math.sqrt(3) * (2 * r * r - 1),
  7: (r, sin) => Math.sqrt(8) * (3 * r ** 3 - 2 * r) * sin,
  11: (r) => Math.sqrt(5) * (6 * r ** 4 - 6 * r * r + 1),
};

/**
 * Light of the pixel at (x, y) from the middle: the diffraction integral, summed over the pupil in polar
 * coordinates, shares no code with the renderer. With lambda F = 5 px, u in radii and x in lambda F,
 * |integral exp(2 pi i W - pi i u . x) du|^2 / (4 area) is the light per (lambda F)^2 (Parseval).
 */
function integrated(noll: 4 | 7 | 11, x: number, y: number): number {
  const area = Math.PI * (1 - obstruction ** 2);
  let light = 0;
  for (const [dx, wx] of gauss)
    for (const [dy, wy] of gauss) {
      let [re, im] = [0, 0];
      for (const { u, v, weight, phase } of pupils[noll]) {
        const p = phase - (Math.PI * (u * (x + dx) + v * (y + dy))) / 5;
        re += weight * Math.cos(p);
        im += weight * Math.sin(p);
      }
      light += (wx * wy * (re * re + im * im)) / (4 * area);
    }
  return light / 25;
}

interface PupilPoint {
  readonly u: number;
  readonly v: number;
  readonly weight: number;
  readonly phase: number;
}
function pupilPoints(noll: 4 | 7 | 11): PupilPoint[] {
  const points: PupilPoint[] = [];
  const width = (1 - obstruction) / rings;
  for (let ring = 0; ring < rings; ring++)
    for (const [at, share] of gauss)
      for (let spoke = 0; spoke < spokes; spoke++) {
        const r = obstruction + (ring + 0.5 + at) * width;
        const angle = (2 * Math.PI * (spoke + 0.5)) / spokes;
        const [u, v] = [r * Math.cos(angle), r * Math.sin(angle)];
        const weight = (share * width * r * 2 * Math.PI) / spokes;
        points.push({ u, v, weight, phase: 2 * Math.PI * 0.5 * terms[noll](r, Math.sin(angle)) });
      }
  return points;
}

const pupils = { 4: pupilPoints(4), 7: pupilPoints(7), 11: pupilPoints(11) } as const;

function moments(image: Float64Array): { light: number; x: number; y: number } {
  let [light, x, y] = [0, 0, 0];
  image.forEach((value, k) => {
    light += value;
    x += value * (k % side);
    y += value * Math.floor(k / side);
  });
  return { light, x: x / light, y: y / light };
}
