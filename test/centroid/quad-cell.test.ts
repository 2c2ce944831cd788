/** The quad cell keeps the contract of all estimators, and does what its own text says. */

import { type EstimatorOptions, prepareQuadCell, type QuadCellOptions, quadCell } from '@holdfast/centroid';
import type { Image } from '@holdfast/psf';
import { createImage, renderStar } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';
import { describeEstimatorContract } from './estimator-contract.ts';

const size = { width: 31, height: 26 };
const star = (x: number, y: number, flux: number, fwhmPx = 3) =>
  renderStar({ kind: 'gaussian', fwhmPx }, { ...size, x, y, flux });
const sigmaPerFwhm = 1 / (2 * Math.sqrt(2 * Math.LN2));

/** Share of a Gaussian of FWHM 3.3 px within `distance` of its middle, along one axis, by Simpson's rule. */
function within(distance: number): number {
  const u = distance / (3.3 * sigmaPerFwhm);
  const n = 200;
  let sum = 0;
  for (let i = 0; i <= n; i++)
    sum += (i === 0 || i === n ? 1 : i % 2 === 1 ? 4 : 2) * Math.exp(-0.5 * ((u * i) / n) ** 2);
  return (sum * u * 2) / (3 * n) / Math.sqrt(2 * Math.PI);
}

/** Where half of the light of a star at `at` and of a constant lies on either side. */
function balance(at: number, flux: number, level: number, length: number, across: number): number {
  let low = 0;
  let high = length - 1;
  for (let i = 0; i < 60; i++) {
    const x = (low + high) / 2;
    const starlight = Math.sign(at - x) * within(Math.abs(at - x)) * flux;
    if (starlight + level * across * (length - 1 - 2 * x) > 0) low = x;
    else high = x;
  }
  return low;
}

// A cell that follows the star: one reading of a cell calibrated for one width is not unbiased, and says so.
const own = { fwhmPx: 3.3, recenter: 200 };
describeEstimatorContract('quad cell that follows the star', {
  measure: (image: Image, options?: EstimatorOptions) => quadCell(image, { ...own, ...options }),
  prepare: (at, options) => prepareQuadCell(at, { ...own, ...options }),
  // Light within the divided pixel is taken as even: 0.012 px at FWHM 2.5 px.
  accuracyPx: 0.015,
  // It ends when it moves by less than 1e-4 px, by steps that may shrink by half only.
  repeatPx: 1e-4,
  onConstant: ({ x, y, flux }, level, { width, height }) => ({
    x: balance(x, flux, level, width, height),
    y: balance(y, flux, level, height, width),
  }),
  onEqualPixels: 'middle',
  failures: {
    'too-few-pixels': [star(13, 12, 900), { guess: { x: 13.4, y: 12.4 }, radiusPx: 0.7 }],
    saturated: [star(13, 12, 5000), { saturationE: 300 }],
    'no-flux': [createImage(31, 26), {}],
    'too-faint': [star(13, 12, 90), { noise: { readNoiseE: 2 } }],
    'not-converged': [star(13, 12, 900), { recenter: 1 } as EstimatorOptions],
    outside: [createImage(5, 1, new Float64Array([0, 2, 0, 0, -1])), {}],
  },
  refused: [
    ['fwhmPx', { fwhmPx: 0 }],
    ['recenter', { recenter: 0.5 }],
  ],
});

describe('one reading of a quad cell', () => {
  const options: QuadCellOptions = { fwhmPx: 3, guess: { x: 14.5, y: 12.5 } };
  const read = (x: number, fwhmPx: number) => {
    const found = quadCell(star(x, 12.5, 1000, fwhmPx), options);
    if (!found.ok) throw new Error(found.reason);
    return found.x - 14.5;
  };
  const s = 3 * sigmaPerFwhm;

  test('the scale is that of a Gaussian near the middle of the cell', () => {
    expectWithin(read(14.52, 3), 0.02, 2e-6, 'third order: u^3 / (6 s^2)');
    expectWithin(read(14.5, 3), 0, 1e-12, 'symmetric');
    // With the error function's series: x - x^3 / (6 s^2) + x^5 / (40 s^4)
    const x = 0.5;
    expectWithin(read(14.5 + x, 3), x - x ** 3 / (6 * s * s) + x ** 5 / (40 * s ** 4), 1e-4, 'seventh order');
  });

  test('a star twice as wide reads half', () => {
    expectWithin(read(14.52, 6) / read(14.52, 3), 0.5, 1e-4, 'slope of the integral in its middle');
  });

  test('far off, it saturates at s sqrt(pi / 2)', () => {
    expectWithin(read(20.5, 3), s * Math.sqrt(Math.PI / 2), 1e-5, 'all light on one side');
  });

  test('without a guess the cell stands in the middle of the image', () => {
    expect(quadCell(star(15, 12.5, 1000), { fwhmPx: 3 })).toMatchObject({ ok: true, iterations: 1 });
    const found = quadCell(star(15.01, 12.48, 1000), { fwhmPx: 3 });
    if (!found.ok) throw new Error(found.reason);
    // The middle column counts for neither side: the light that changes sides passes its edges, half a pixel
    // off the middle.
    expectWithin((found.x - 15) / Math.exp(-1 / (8 * s * s)), 0.01, 1e-6, 'third order: u^3 / (6 s^2)');
    expectWithin(found.y - 12.5, -0.02, 2e-6, 'third order');
  });
});
