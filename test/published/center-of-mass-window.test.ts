/**
 * Noise of the center of mass in a square window: photons by the star's width, read noise by the window
 * alone.
 */
import { predictError, prepareCenterOfMass } from '@holdfast/centroid';
import { randomStream, renderStar } from '@holdfast/psf';
import { describe, test } from 'vitest';
import { fillNoisyFrame, statisticsOf } from '../centroid/noisy-frames.ts';
import { expectWithin } from '../expect-within.ts';
import { checkPublished } from './published.ts';

const thomas =
  'Thomas et al. 2006, MNRAS 371, 323, center of gravity (as transcribed in public code), exact form N_r^2 N_s^2 (N_s^2 - 1) / (12 N^2)';

/**
 * The published formulas are of first order in the noise, the prediction of second. With a million times the
 * light and a thousand times the read noise, noise over light is a thousandth of what it was, and a thousand
 * times the prediction is its first order.
 */
const lessNoise = 1000;

/** Star in the middle of a window of `side` px; its FWHM counts the pixel, as in the source. */
function predicted(fwhmPx: number, flux: number, readNoiseE: number, side: number): number {
  const middle = (side - 1) / 2;
  const variance = (fwhmPx * fwhmPx) / (8 * Math.LN2) - 1 / 12;
  const star = renderStar(
    { kind: 'gaussian', fwhmPx: Math.sqrt(8 * Math.LN2 * variance) },
    { width: side, height: side, x: middle, y: middle, flux: lessNoise ** 2 * flux },
  );
  const at = { x: middle, y: middle };
  const noise = { readNoiseE: lessNoise * readNoiseE };
  const error = predictError(star, { estimator: 'centerOfMass', at, noise });
  if (!error.ok) throw new Error(error.reason);
  return lessNoise * error.sigmaX;
}

describe('predicted error', () => {
  // FWHM, electrons, read noise, side of the window; then photon part, read-noise part and both, px
  for (const [fwhm, flux, readNoise, side, photons, read, both] of [
    [3, 1000, 3, 8, 0.040287, 0.054991, 0.068169],
    [4, 1000, 5, 12, 0.053716, 0.207123, 0.213975],
    [4, 10000, 5, 16, 0.016986, 0.036878, 0.040602],
  ]) {
    const what = `FWHM ${fwhm} px, ${flux} electrons, read noise ${readNoise}, ${side} x ${side} px`;
    checkPublished(
      {
        what: `photon part, ${what}, px`,
        value: photons,
        tolerance: 6e-7,
        source: thomas,
        note: 'half a unit of the sixth decimal; a window that holds all of the light, where the source has none',
      },
      () => predicted(fwhm, flux, 0, 40),
    );
    checkPublished(
      {
        what: `read-noise part, ${what}, px`,
        value: read,
        tolerance: 2e-5 * read,
        source: thomas,
        note: 'five digits; it does not depend on the star: one of FWHM 1.2 px is taken, which the window holds whole',
      },
      () => Math.sqrt(predicted(1.2, flux, readNoise, side) ** 2 - predicted(1.2, flux, 0, side) ** 2),
    );
    checkPublished(
      {
        what: `both, ${what}, px`,
        value: both,
        tolerance: 6e-3 * both,
        source: thomas,
        note: 'the window cuts off up to 0.4 % of the light (3 sigma): less photon noise, more read noise over less light',
      },
      () => predicted(fwhm, flux, readNoise, side),
    );
  }
  checkPublished(
    {
      what: 'read-noise error of a window over that of half its side',
      value: 4,
      tolerance: 0.025,
      source: thomas,
      note: 'N_s^2 (N_s^2 - 1) is not quite N_s^4: 4.0237 at 16 and 8 px',
    },
    () => {
      const read = (side: number) =>
        Math.sqrt(predicted(1.2, 1e4, 5, side) ** 2 - predicted(1.2, 1e4, 0, side) ** 2);
      return read(16) / read(8);
    },
  );
});

describe('scatter of simulated frames, 15 x 15 px, FWHM 3 px before the pixel, read noise 3', () => {
  const side = 15;
  const middle = 7;
  const frames = 10_000;
  for (const [flux, theory, simulated] of [
    [1000, 0.1988, 0.2002],
    [10_000, 0.02342, 0.02338],
  ])
    test(`${flux} electrons: ${simulated} px by another simulation, ${theory} px by first-order theory [${thomas}]`, () => {
      const star = renderStar(
        { kind: 'gaussian', fwhmPx: 3 },
        { width: side, height: side, x: middle, y: middle, flux },
      );
      const measure = prepareCenterOfMass({ width: side, height: side });
      const frame = new Float64Array(side * side);
      const errors: number[] = [];
      for (let i = 0; i < frames; i++) {
        fillNoisyFrame(frame, star.data, { readNoiseE: 3 }, randomStream('window', flux, i));
        const found = measure(frame);
        if (!found.ok) throw new Error(found.reason);
        errors.push(found.x - middle);
      }
      const { scatter, scatterError } = statisticsOf(errors);
      // The other simulation had 40 000 frames: half of our standard error.
      const error = 3.5 * scatterError * Math.sqrt(1.25);
      expectWithin(scatter, simulated, error, '3.5 standard errors of both simulations');
      const secondOrder = flux === 1000 ? 0.01 : 0.002;
      expectWithin(
        scatter,
        theory,
        3.5 * scatterError + secondOrder * theory,
        'and the noise of the denominator',
      );
    });
});
