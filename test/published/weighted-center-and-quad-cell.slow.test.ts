/**
 * Noise of the weighted center of mass and of the quad cell: photons and read noise apart, against the closed
 * forms for Gaussian stars. In the source N_T and N_w are the FWHM of star and weight; s_t, s_w below their
 * rms widths.
 */
import { predictError, prepareWeightedCenterOfMass, quadCell } from '@holdfast/centroid';
import { prepareStar, randomStream, renderStar } from '@holdfast/psf';
import { describe, test } from 'vitest';
import { fillNoisyFrame, statisticsOf } from '../centroid/noisy-frames.ts';
import { expectWithin } from '../expect-within.ts';
import { sigmaPerFwhm } from './expected-star.ts';
import { checkPublished } from './published.ts';
import { unitShape } from './star-profile.ts';

const thomas = 'Thomas et al. 2006, MNRAS 371, 323 (as transcribed in public code), confirmed numerically';
const weighted = `${thomas}: weighted center of gravity, unbiased`;
const quad = `${thomas}: quad cell, with kappa squared`;
const leastSquares =
  'Mortensen et al. 2010, Nat. Methods 7, 377: unweighted least squares, (s_a^2 / N) (16/9 + 8 pi s_a^2 b^2 / N)';

/** A star whose FWHM counts the pixel, as in the source, in the middle of a window that holds it whole. */
function starOf(fwhmPx: number, flux: number, side: number) {
  const variance = (fwhmPx * sigmaPerFwhm) ** 2 - 1 / 12;
  const middle = (side - 1) / 2;
  const at = { x: middle, y: middle };
  const shape = { kind: 'gaussian', fwhmPx: Math.sqrt(variance) / sigmaPerFwhm } as const;
  return { at, shape, expected: renderStar(shape, { width: side, height: side, ...at, flux }) };
}

/** Predicted error of the weighted center of mass: from photons alone, from read noise alone, and both. */
function weightedErrors(fwhmPx: number, weightFwhmPx: number, flux: number, readNoiseE: number) {
  const { expected, at } = starOf(fwhmPx, flux, 2 * Math.ceil(2.5 * Math.max(fwhmPx, weightFwhmPx)) + 1);
  const sigma = (readNoise: number) => {
    const noise = { readNoiseE: readNoise };
    const predicted = predictError(expected, { estimator: 'weightedCenterOfMass', weightFwhmPx, at, noise });
    if (!predicted.ok) throw new Error(predicted.reason);
    return predicted.sigmaX;
  };
  const photons = sigma(0);
  const total = sigma(readNoiseE);
  return { photons, read: Math.sqrt(total ** 2 - photons ** 2), total };
}

describe('weighted center of mass, predicted error', () => {
  // N_w / N_T; photon variance over that of the center of mass
  for (const [ratio, excess] of [
    [0.7, 3.31096],
    [1, 1.77778],
    [1.5, 1.22009],
    [2, 1.08507],
    [3, 1.0203],
    [5, 1.00297],
  ])
    checkPublished(
      {
        what: `photon variance over that of the center of mass, weight / star = ${ratio}`,
        value: excess,
        tolerance: 4e-4 * excess,
        source: `${weighted}: (s_t^2 + s_w^2)^4 / ((2 s_t^2 + s_w^2)^2 s_w^4)`,
        note: 'a square pixel of 1/8 FWHM is not quite a Gaussian of its variance',
      },
      () => {
        const fwhm = 8;
        return (weightedErrors(fwhm, ratio * fwhm, 1e6, 1).photons * 1e3) ** 2 / (fwhm * sigmaPerFwhm) ** 2;
      },
    );

  // N_T, N, N_r; then photon part, read-noise part and both at N_w = N_T, px
  for (const [fwhm, flux, readNoise, photons, read, total] of [
    [3, 1000, 3, 0.053716, 0.02441, 0.059002],
    [4, 1000, 5, 0.071621, 0.072326, 0.101787],
    [4, 10000, 5, 0.022649, 0.007233, 0.023775],
  ]) {
    const what = `weight as wide as the star, FWHM ${fwhm} px, ${flux} electrons, read noise ${readNoise}`;
    const note = 'a square pixel is not quite a Gaussian of its variance: 3e-4 at FWHM 3 px';
    const ours = () => weightedErrors(fwhm, fwhm, flux, readNoise);
    const share = 1e-3;
    checkPublished(
      {
        what: `photon part, ${what}, px`,
        value: photons,
        tolerance: share * photons,
        source: weighted,
        note,
      },
      () => ours().photons,
    );
    checkPublished(
      { what: `read-noise part, ${what}, px`, value: read, tolerance: share * read, source: weighted, note },
      () => ours().read,
    );
    checkPublished(
      { what: `both, ${what}, px`, value: total, tolerance: share * total, source: weighted, note },
      () => ours().total,
    );
  }

  checkPublished(
    {
      what: 'photon variance * N / s_t^2, weight as wide as the star',
      value: 16 / 9,
      tolerance: 1e-3,
      source: leastSquares,
      note: 'to first order it is the least-squares fit of a Gaussian of known width',
    },
    () => (weightedErrors(8, 8, 1e6, 1).photons * 1e3) ** 2 / (8 * sigmaPerFwhm) ** 2,
  );
  checkPublished(
    {
      what: 'read-noise variance * N^2 / (s_t^4 N_r^2), weight as wide as the star',
      value: 8 * Math.PI,
      tolerance: 1e-3 * 8 * Math.PI,
      source: leastSquares,
      note: 'the same',
    },
    () => (weightedErrors(8, 8, 1e4, 100).read * 100) ** 2 / (8 * sigmaPerFwhm) ** 4,
  );
  test(`read noise is least for a weight as wide as the star [${weighted}]`, () => {
    const read = (ratio: number) => weightedErrors(6, 6 * ratio, 1e4, 10).read;
    for (const ratio of [0.9, 1.1]) {
      // (1 + r^2)^4 / (16 r^4), r = N_w / N_T
      const expected = Math.sqrt((1 + ratio ** 2) ** 4 / (16 * ratio ** 4));
      expectWithin(read(ratio) / read(1), expected, 5e-4, 'a square pixel');
    }
  });
});

describe('weighted center of mass, scatter of simulated frames, 15 x 15 px, FWHM 3 px before the pixel, read noise 3', () => {
  const side = 15;
  const frames = 10_000;
  for (const [flux, theory, simulated] of [
    [1000, 0.06076, 0.06056],
    [10_000, 0.01761, 0.0176],
  ])
    test(`${flux} electrons: ${simulated} px by another simulation, ${theory} px by theory [${weighted}]`, () => {
      const star = renderStar(
        { kind: 'gaussian', fwhmPx: 3 },
        { width: side, height: side, x: 7, y: 7, flux },
      );
      // The weight of that simulation was as wide as the star on its pixels.
      const weightFwhmPx = Math.sqrt(9 + 1 / 12 / sigmaPerFwhm ** 2);
      const measure = prepareWeightedCenterOfMass({ width: side, height: side }, { weightFwhmPx });
      const frame = new Float64Array(side * side);
      const errors: number[] = [];
      for (let i = 0; i < frames; i++) {
        fillNoisyFrame(frame, star.data, { readNoiseE: 3 }, randomStream('weighted', flux, i));
        const found = measure(frame, { x: 7, y: 7 });
        if (!found.ok) throw new Error(found.reason);
        errors.push(found.x - 7, found.y - 7);
      }
      const { scatter, scatterError } = statisticsOf(errors);
      // The other simulation had 40 000 frames, one axis: twice the variance of ours.
      const error = 3.5 * scatterError * Math.sqrt(1.5);
      expectWithin(
        scatter,
        simulated,
        error + 0.003 * simulated,
        '3.5 standard errors of both, second order',
      );
      expectWithin(scatter, theory, 3.5 * scatterError + 0.005 * theory, 'terms of second order');
    });
});

describe('quad cell on a Gaussian', () => {
  const sigma = (fwhmPx: number, flux: number, readNoiseE: number, side: number, scale: number) => {
    const middle = (side - 1) / 2;
    const at = { x: middle, y: middle };
    const expected = renderStar({ kind: 'gaussian', fwhmPx }, { width: side, height: side, ...at, flux });
    const predicted = predictError(expected, { estimator: 'quadCell', fwhmPx, at, noise: { readNoiseE } });
    if (!predicted.ok) throw new Error(predicted.reason);
    return scale * predicted.sigmaX;
  };
  // N_T, N, N_r; then photon part and read-noise part of a cell of four pixels, px of the source
  for (const [fwhm, flux, readNoise, photons, read] of [
    [3, 1000, 3, 0.050492, 0.00958],
    [4, 1000, 5, 0.067323, 0.021289],
    [4, 10000, 5, 0.021289, 0.002129],
  ]) {
    const what = `FWHM ${fwhm} px, ${flux} electrons, read noise ${readNoise}`;
    const note = 'rounding of the source; the cell is drawn as 2 x 2 pixels of 40 px of the source each';
    const total = (noise: number) => sigma(fwhm / 40, flux, noise, 2, 40);
    checkPublished(
      { what: `photon part, ${what}, px`, value: photons, tolerance: 2e-5 * photons, source: quad, note },
      () => total(0),
    );
    checkPublished(
      { what: `read-noise part, ${what}, px`, value: read, tolerance: 3e-4 * read, source: quad, note },
      () => Math.sqrt(total(readNoise) ** 2 - total(0) ** 2),
    );
  }
  checkPublished(
    {
      what: 'photon variance over the least possible',
      value: Math.PI / 2,
      tolerance: 1e-4,
      source: quad,
      note: 'fine pixels, the quadrants meet between them',
    },
    () => (sigma(8, 1e6, 0, 60, 1) * 1e3) ** 2 / (8 * sigmaPerFwhm) ** 2,
  );
});

describe('quad cell on a star in focus, diffraction alone', () => {
  const tyler =
    'Tyler & Fried 1982, J. Opt. Soc. Am. 72, 804: (3 pi / 16) (lambda / D) / SNR; with an obstruction 1 / (2 LSF(0)), derived';
  // Obstruction ratio; error * sqrt(N), lambda / D
  for (const [obstructionRatio, value] of [
    [0, 0.589049],
    [0.2, 0.618542],
    [0.3, 0.655815],
    [0.5, 0.796033],
  ])
    checkPublished(
      {
        what: `error * sqrt(N), obstruction ${obstructionRatio}, lambda / D`,
        value,
        tolerance: 0.01 * value,
        source: tyler,
        note: 'quadrants of 16 lambda F: the light beyond, some 1 to 2 %, counts in neither N nor signal; pixels of 1/16 lambda F',
      },
      () => {
        const perLambdaF = 16;
        const side = 32 * perLambdaF;
        const shape = { ...unitShape({ obstructionRatio }, {}), pixelSizeUm: 1 / perLambdaF };
        const plan = prepareStar(shape, { width: side, height: side });
        const middle = (side - 1) / 2;
        const at = { x: middle, y: middle };
        const step = 0.05 * perLambdaF;
        const frame = renderStar(
          { kind: 'gaussian', fwhmPx: 9 },
          { width: side, height: side, ...at, flux: 1 },
        );
        const draw = (x: number) => {
          plan.renderInto(frame, x, middle, 1);
          return frame;
        };
        // The scale of the reading is that of a Gaussian: what it is for this star is read off a small move.
        const read = (x: number) => {
          const found = quadCell(draw(x), { fwhmPx: 9, guess: at });
          if (!found.ok) throw new Error(found.reason);
          return found.x;
        };
        const slope = (read(middle + step) - read(middle - step)) / (2 * step);
        const predicted = predictError(draw(middle), {
          estimator: 'quadCell',
          fwhmPx: 9,
          at,
          noise: { readNoiseE: 0 },
        });
        if (!predicted.ok) throw new Error(predicted.reason);
        return predicted.sigmaX / slope / perLambdaF;
      },
    );
});
