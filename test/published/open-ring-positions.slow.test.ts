/**
 * Positions of real out-of-focus stars (stamps of a 4 m telescope's wide-field camera, aaronroodman/Donut,
 * MIT). Nobody knows where their light truly falls, but what follows from one picture is known: how far it
 * moves when its pixels are paired otherwise, and how far halves of its light may lie apart.
 */

import {
  estimateBackground,
  type PreparedEstimator,
  prepareCenterOfMass,
  prepareCrossCorrelation,
  preparePointSymmetryCenter,
  prepareTemplateFit,
  prepareThresholdedCenterOfMass,
} from '@holdfast/centroid';
import type { Image } from '@holdfast/psf';
import { createImage, randomStream } from '@holdfast/psf';
import { readFits } from '@holdfast/sim';
import { describe, expect, test } from 'vitest';
import { statisticsOf } from '../centroid/noisy-frames.ts';
import { expectWithin } from '../expect-within.ts';
import { readOpenData } from '../open-data.ts';

const names = [
  '00153648.S4.0010',
  '00284696.S25.0001',
  '00284696.S4.0007',
  '00487890.S4.0054',
  '00804541.S4.0096',
] as const;

/** Gain between 3.1 and 4.5 electrons per ADU. */
const gainEPerAdu = 3.8;
const side = 64;

interface RealRing {
  /** Electrons, sky included. */
  readonly electrons: Image;
  readonly level: number;
  /** Somewhere near the middle of the ring. */
  readonly x: number;
  readonly y: number;
}

function ringOf(name: string): RealRing {
  const result = readFits(readOpenData(`donut-real/DECam_${name}.stamp.fits`));
  if (!result.ok) throw new Error(result.message);
  const electrons = createImage(
    side,
    side,
    result.image.data.map((v) => gainEPerAdu * v),
  );
  const border = estimateBackground(electrons, { region: 'border', borderPx: 4, center: 'median' });
  if (!border.ok) throw new Error(border.reason);
  const rough = prepareThresholdedCenterOfMass(
    { width: side, height: side },
    { noise: { readNoiseE: 7 }, thresholdSigma: 20, background: border.level },
  )(electrons);
  if (!rough.ok) throw new Error(rough.reason);
  return { electrons, level: border.level, x: rough.x, y: rough.y };
}

/** 2 x 2 px summed, beginning at column a and row b. */
function paired({ data }: Image, a: number, b: number): Image {
  const half = side / 2 - 1;
  const out = createImage(half, half);
  for (let y = 0; y < half; y++)
    for (let x = 0; x < half; x++) {
      const k = (2 * y + b) * side + 2 * x + a;
      out.data[y * half + x] = data[k] + data[k + 1] + data[k + side] + data[k + side + 1];
    }
  return out;
}

const without = (image: Image, level: number): Image =>
  createImage(
    image.shape[1],
    image.shape[0],
    image.data.map((v) => v - level),
  );

describe('pixels paired otherwise: the ring moves by half a pixel', () => {
  for (const name of names)
    test(name, () => {
      const ring = ringOf(name);
      const size = { width: side / 2 - 1, height: side / 2 - 1 };
      const background = 4 * ring.level;
      const guess = { x: (ring.x - 0.5) / 2, y: (ring.y - 0.5) / 2 };
      const noise = { readNoiseE: 14 };
      const options = { guess, background, noise, radiusPx: 13.5 };
      const first = paired(ring.electrons, 0, 0);
      // Where the template's own center is said to lie does not matter: positions are compared.
      const asTemplate = { image: without(first, background), ...guess };
      const estimators: [string, PreparedEstimator, number][] = [
        // Its window moves by whole pixels.
        ['center of mass', prepareCenterOfMass(size, options), 0.01],
        ['thresholded', prepareThresholdedCenterOfMass(size, options), 0.01],
        // Of a ring with uneven light: what is most symmetric depends on how pixels smooth it. Largest
        // difference: 0.036 px.
        ['center of symmetry', preparePointSymmetryCenter(size, options), 0.05],
        ['template fit to itself', prepareTemplateFit(size, { ...options, template: asTemplate }), 0.01],
        [
          'cross-correlation with itself',
          prepareCrossCorrelation(size, { ...options, template: asTemplate }),
          0.015,
        ],
      ];
      for (const [what, measure, tolerance] of estimators) {
        const positions = [
          [0, 0],
          [1, 0],
          [0, 1],
          [1, 1],
        ].map(([a, b]) => {
          const found = measure(paired(ring.electrons, a, b));
          if (!found.ok) throw new Error(`${what}: ${found.reason}`);
          return { x: found.x + a / 2, y: found.y + b / 2 };
        });
        for (const { x, y } of positions) {
          expectWithin(x, positions[0].x, tolerance, `${what}: half a pixel for each column left out`);
          expectWithin(y, positions[0].y, tolerance, `${what}: half a pixel for each row left out`);
        }
      }
    });
});

describe('halves of the light', () => {
  // Each photon goes to either half by the toss of a coin: the difference of both has the noise of
  // independent exposures.
  const splits = 75;
  for (const name of names)
    test(`${name}: the distance of both halves is what the estimators predict`, () => {
      const ring = ringOf(name);
      const size = { width: side, height: side };
      const guess = { x: ring.x, y: ring.y };
      const noise = { readNoiseE: 0 };
      const background = ring.level / 2;
      const options = { guess, background, noise, radiusPx: 29 };
      const template = { image: without(ring.electrons, ring.level), ...guess };
      const estimators: [string, PreparedEstimator][] = [
        ['center of mass', prepareCenterOfMass(size, { ...options, recenter: 0 })],
        ['template fit to itself', prepareTemplateFit(size, { ...options, template })],
        ['cross-correlation with itself', prepareCrossCorrelation(size, { ...options, template })],
        ['center of symmetry', preparePointSymmetryCenter(size, options)],
      ];
      const a = createImage(side, side);
      const b = createImage(side, side);
      const results = estimators.map(([what, measure]) => ({
        what,
        measure,
        off: [] as number[],
        squares: 0,
      }));
      for (let i = 0; i < splits; i++) {
        const random = randomStream('halves', name, i);
        for (let k = 0; k < a.data.length; k++) {
          const all = Math.max(0, ring.electrons.data[k]);
          a.data[k] = (all + Math.sqrt(all) * random.normal()) / 2;
          b.data[k] = all - a.data[k];
        }
        for (const result of results) {
          const first = result.measure(a);
          const second = result.measure(b);
          if (!first.ok || !second.ok) throw new Error(`${result.what}: not located`);
          result.off.push(first.x - second.x, first.y - second.y);
          for (const { sigmaX = 0, sigmaY = 0 } of [first, second])
            result.squares += (sigmaX ** 2 + sigmaY ** 2) / (2 * splits);
        }
      }
      for (const { what, off, squares } of results) {
        const { mean, meanError, scatter } = statisticsOf(off);
        expectWithin(mean, 0, 4 * meanError, `${what}: halves are alike; 4 standard errors`);
        expectWithin(
          Math.sqrt(squares) / scatter,
          1,
          3.5 / Math.sqrt(4 * splits) + 0.03,
          `${what}: first order; 3.5 standard errors`,
        );
      }
      // What a real ring gains by a template: its rims are sharp, its light is wide.
      const [mass, fit] = results.map(({ off }) => statisticsOf(off).scatter);
      expect(fit).toBeLessThan(0.5 * mass);
    });
});
