import { imageMotionArcsec, randomStream } from '@holdfast/psf';
import {
  buildScene,
  type GuideError,
  type ImageGrowth,
  imageGrowth,
  loopNoiseFactor,
  measureError,
  noiseWithinBudgetArcsec,
} from '@holdfast/sim';
import { type ChasedAirOptions, chasedAirArcsec, guideErrorOf } from '@holdfast/sim/internal';
import { describe, expect, test } from 'vitest';
import { noiseOf } from '../../packages/sim/src/budget/budget.ts';
import { prepareImageMotion } from '../../packages/sim/src/motion/image-motion.ts';
import { expectWithin, expectWithinSigmas } from '../expect-within.ts';
import { fittedScene, smallRig } from './small-rig.ts';

describe('noise that a proportional loop lets through', () => {
  // Textbook control theory: output variance over input variance of a first-order loop is g / (2 - g).
  test.each([0.2, 0.6, 1, 1.5])('gain %d: a simulated loop has the variance g / (2 - g)', (gain) => {
    const random = randomStream('loop', gain);
    const blocks = 400;
    const means: number[] = [];
    let position = 0;
    for (let block = 0; block < blocks; block++) {
      let sum = 0;
      for (let i = 0; i < 250; i++) {
        position -= gain * (position + random.normal());
        sum += position * position;
      }
      means.push(sum / 250);
    }
    const mean = means.reduce((a, b) => a + b) / blocks;
    const spread = Math.sqrt(means.reduce((a, b) => a + (b - mean) ** 2, 0) / (blocks - 1) / blocks);
    expectWithinSigmas(mean, loopNoiseFactor(gain) ** 2, spread, 4);
  });
  test.each([0, 2, -1, Number.NaN])('gain %d is refused', (gain) => {
    expect(() => loopNoiseFactor(gain)).toThrow(/proportionalGain must be in \(0, 2\)/);
  });
});

const air: ChasedAirOptions = {
  seeingFwhmArcsec: 2.5,
  wavelengthNm: 550,
  apertureMm: 200,
  obstructionRatio: 0.35,
  windMPerS: 10,
  exposureS: 2,
  intervalS: 2.5,
  proportionalGain: 0.6,
};

describe('what the loop adds by following moving air', () => {
  test.each([
    [0.6, 2, 2.5],
    [0.3, 1, 1],
    [1.4, 1, 3],
  ])('gain %d, exposures of %d s every %d s: as in a simulated loop', (gain, exposureS, intervalS) => {
    const { seeingFwhmArcsec, wavelengthNm, apertureMm, obstructionRatio, windMPerS } = air;
    const night = prepareImageMotion({
      seeingFwhmArcsec,
      wavelengthNm,
      apertureMm,
      obstructionRatio,
      windMPerS,
    });
    const settled = 40;
    const frames = 60;
    const nights = 240;
    const mean = { x: 0, y: 0 };
    const squares = Array.from({ length: nights }, (_, n) => {
      const moving = night(randomStream('chased air', gain, n));
      let x = 0;
      let y = 0;
      let sum = 0;
      for (let frame = 0; frame < settled + frames; frame++) {
        moving.meanInto(mean, frame * intervalS, exposureS);
        x -= gain * (x + mean.x);
        y -= gain * (y + mean.y);
        if (frame >= settled) sum += (x * x + y * y) / 2 / frames;
      }
      return sum;
    });
    const variance = squares.reduce((a, b) => a + b) / nights;
    const error = Math.sqrt(squares.reduce((a, b) => a + (b - variance) ** 2, 0) / (nights - 1) / nights);
    const expected = chasedAirArcsec({ ...air, exposureS, intervalS, proportionalGain: gain }) ** 2;
    expectWithinSigmas(variance, expected, error, 4);
    expect(error / variance).toBeLessThan(0.06);
  });
  test('with a gain of 1 and short exposures it is the whole motion of the image', () => {
    // Published: sigma^2 = 0.1698 lambda^2 D^(-1/3) r0^(-5/3) on one axis of a clear aperture.
    const all = imageMotionArcsec({
      seeing: { fwhmArcsec: 2.5, wavelengthNm: 550 },
      apertureMm: 200,
      wavelengthNm: 550,
    });
    const chased = chasedAirArcsec({
      ...air,
      obstructionRatio: 0,
      exposureS: 1e-4,
      intervalS: 1,
      proportionalGain: 1,
    });
    expectWithin(chased / all, 1, 0.003, '0.2 % of the variance lies below the lowest frequency');
  });
  test('a longer exposure averages more of it away, a lower gain follows less', () => {
    const usual = chasedAirArcsec(air);
    expect(chasedAirArcsec({ ...air, exposureS: 8, intervalS: 8.5 })).toBeLessThan(0.95 * usual);
    expect(chasedAirArcsec({ ...air, proportionalGain: 0.2 })).toBeLessThan(0.95 * usual);
    expect(chasedAirArcsec({ ...air, windMPerS: 40 })).toBeLessThan(0.95 * usual);
  });
});

const exactly = (value: number, standardError = 0) => ({ value, standardError });
/** The same noise along both axes, fully followed. */
const noise = (value: number, standardError = 0): GuideError => {
  const axis = { noiseArcsec: exactly(value, standardError), response: 1 };
  return { x: axis, y: axis };
};
/** Growth by a stable loop. */
function growthOf(...args: Parameters<typeof imageGrowth>): ImageGrowth {
  const growth = imageGrowth(...args);
  if (growth === undefined) throw new Error('unstable');
  return growth;
}

describe('growth of the stars in the picture', () => {
  const rig = smallRig();
  test('blurs add in quadrature, worked by hand', () => {
    // seeing 2.5; other tracking 0.5 * 2.35482 = 1.17741; pixel 1.10008 * 2.35482 / sqrt(12) = 0.74780
    const { fwhmPerfectArcsec, fwhmArcsec, growthPercent, terms } = growthOf(rig, noise(1, 0.1));
    // The air that the loop follows: 150 mm of aperture, exposures of 2 s every 2.5 s.
    const followed = chasedAirArcsec({ ...air, apertureMm: 150, obstructionRatio: 0.3 });
    expectWithin(terms.imageMotionArcsec, 2.35482 * followed, 1e-5, 'six digits by hand');
    const perfect = Math.sqrt(2.86278 ** 2 + terms.imageMotionArcsec ** 2);
    expectWithin(fwhmPerfectArcsec, perfect, 2e-5, 'five digits by hand');
    // guide star 1 * 2.35482 * sqrt(0.6 / 1.4) = 1.54158
    const all = Math.sqrt(perfect ** 2 + 1.54158 ** 2);
    expectWithin(fwhmArcsec.value, all, 5e-5, 'five digits by hand');
    expectWithin(growthPercent.value, 100 * (all / perfect - 1), 2e-3, 'the same');
  });
  test('its standard error is the slope times that of the noise', () => {
    const at = (value: number) => growthOf(rig, noise(value, 0.01)).growthPercent;
    const slope = (at(1.001).value - at(0.999).value) / 0.002;
    // Both axes have errors of their own, unless the frames tell the same of both.
    expectWithin(at(1).standardError, (0.01 * slope) / Math.sqrt(2), 1e-5, 'central difference');
    const together = (correlation: number) => growthOf(rig, { ...noise(1, 0.01), correlation });
    expectWithin(together(1).growthPercent.standardError, 0.01 * slope, 1e-5, 'central difference');
    expectWithin(together(1).axes.elongation.standardError, 0, 1e-12, 'both axes err alike');
    expectWithin(together(-1).growthPercent.standardError, 0, 1e-12, 'they cancel');
    expect(() => together(1.1)).toThrow(/guide.correlation must be in \[-1, 1\], got 1.1/);
  });
  test('what both axes have in common is taken from trials: their joint error is that of both together', () => {
    const scene = buildScene(rig, { focusShiftUm: 240 });
    const error = measureError(scene, { estimator: 'thresholdedCenterOfMass', seed: 1, trials: 256 });
    const guide = guideErrorOf(error, scene.arcsecPerPx) ?? noise(0);
    const { value, standardError } = noiseOf(guide);
    const joint = error.noiseEquivalentPx ?? exactly(0);
    expectWithin(value, joint.value * scene.arcsecPerPx, 1e-12, 'rounding');
    expectWithin(standardError, joint.standardError * scene.arcsecPerPx, 1e-12, 'rounding');
    expect(guide.correlation).toBeGreaterThan(0.1);
  });
  test('an error of the response: less noise for a larger gain', () => {
    const [responseError, scatterArcsec] = [0.02, 0.9];
    const guide = (response: number, own = {}): GuideError => {
      const value = scatterArcsec / response;
      const axis = { noiseArcsec: { value, standardError: value * responseError }, response, responseError };
      return { x: axis, y: axis, ...own };
    };
    const at = (response: number) => growthOf(rig, guide(response)).growthPercent.value;
    const stated = (own = {}) => growthOf(rig, guide(1, own)).growthPercent.standardError;
    const together = { correlation: 1, responseCorrelation: 1 };
    expectWithin(stated(together), Math.abs(at(1.02) - at(1)), 2e-4, 'to first order');
    expectWithin(stated(), stated(together) / Math.sqrt(2), 1e-9, 'rounding');
    // As though noise and response erred apart, the growth would err by twice as much and more.
    const { x } = guide(1);
    const apart = { noiseArcsec: x.noiseArcsec, response: 1 };
    expect(growthOf(rig, { x: apart, y: apart, correlation: 1 }).growthPercent.standardError).toBeGreaterThan(
      2 * stated(together),
    );
    // With a gain of 1.2 a response of 1.6 is all but unstable, and one of 1.7 is.
    const wild = { noiseArcsec: { value: 0.5, standardError: 0.1 }, response: 1.6, responseError: 0.1 };
    const unsure = growthOf(rig, { x: wild, y: wild }, { proportionalGain: 1.2 }).growthPercent;
    const sure = { ...wild, noiseArcsec: { value: 0.5, standardError: 0.095 }, responseError: 0 };
    const known = growthOf(rig, { x: sure, y: sure }, { proportionalGain: 1.2 }).growthPercent;
    expect(unsure.standardError).toBeGreaterThan(2 * known.standardError);
    expect(() => stated({ responseCorrelation: 2 })).toThrow(
      /guide.responseCorrelation must be in \[-1, 1\]/,
    );
  });
  test('its stated error is its scatter, also where the response is hardly known', () => {
    const scene = buildScene(rig, { focusShiftUm: 480 });
    const seeds = 80;
    const growths = Array.from({ length: seeds }, (_, seed) => {
      const error = measureError(scene, { estimator: 'centerOfMass', seed, trials: 256 });
      return growthOf(rig, guideErrorOf(error, scene.arcsecPerPx) ?? noise(0)).growthPercent;
    });
    const mean = growths.reduce((sum, { value }) => sum + value, 0) / seeds;
    const scatter = Math.sqrt(growths.reduce((sum, { value }) => sum + (value - mean) ** 2, 0) / (seeds - 1));
    const stated = growths.reduce((sum, { standardError }) => sum + standardError, 0) / seeds;
    expectWithinSigmas(scatter / stated, 1, 1 / Math.sqrt(2 * seeds), 3);
  });
  test('the error that the budget allows is the inverse of the growth', () => {
    const value = noiseWithinBudgetArcsec(rig);
    expectWithin(growthOf(rig, noise(value)).growthPercent.value, 5, 1e-9, 'rounding');
  });
  test('no error, no growth; the seeing is the largest term of a usual rig', () => {
    const still = growthOf(rig, noise(0));
    expect(still.growthPercent.value).toBe(0);
    expect(still.largestTerm).toBe('seeing');
    expect(growthOf(rig, noise(5)).largestTerm).toBe('guide star');
  });
  test('the star is as long as its axes differ, worked by hand', () => {
    const along = (value: number) => ({ noiseArcsec: exactly(value), response: 1 });
    const { axes, fwhmPerfectArcsec } = growthOf(rig, { x: along(Math.sqrt(2)), y: along(0) });
    expect(axes.fwhmYArcsec).toBe(fwhmPerfectArcsec);
    // 1.54158 arcsec for 1 arcsec of error, as above
    const long = Math.sqrt(fwhmPerfectArcsec ** 2 + 2 * 1.54158 ** 2);
    expectWithin(axes.fwhmXArcsec, long, 5e-5, 'five digits by hand');
    expectWithin(axes.elongation.value, long / fwhmPerfectArcsec, 2e-5, 'five digits by hand');
  });
  test('a comet is measured worse along its tail, and the picture shows it', () => {
    const offAxis = { offAxisMm: 20, telescope: { design: 'paraboloid' } };
    // Bright, so that its own photons are the noise.
    const guideCamera = { pixelSizeUm: 4, exposureS: 2, readNoiseE: 2, gainEPerAdu: 1, bitDepth: 16 };
    const comet = smallRig({ guideStar: { magnitude: 9 }, offAxis, guideCamera });
    const scene = fittedScene(comet, { focusShiftUm: 0 });
    const error = measureError(scene, { estimator: 'centerOfMass', seed: 1, trials: 1024 });
    const guide = guideErrorOf(error, scene.arcsecPerPx);
    expect(guide).toBeDefined();
    const { x, y } = guide ?? noise(0);
    const apart = Math.sqrt(x.noiseArcsec.standardError ** 2 + y.noiseArcsec.standardError ** 2);
    expect(Math.abs(x.noiseArcsec.value - y.noiseArcsec.value)).toBeGreaterThan(4 * apart);
    const { axes, fwhmArcsec } = growthOf(comet, { x, y });
    expect(axes.elongation.value - 1).toBeGreaterThan(4 * axes.elongation.standardError);
    // Both axes together are the growth: FWHM^2 is the mean of both squares.
    const squares = (axes.fwhmXArcsec ** 2 + axes.fwhmYArcsec ** 2) / 2;
    expectWithin(Math.sqrt(squares) / fwhmArcsec.value, 1, 1e-12, 'rounding');
  });
  test('a constant offset costs nothing; a response below 1 costs noise, and leaves more of the mount', () => {
    const half = { noiseArcsec: exactly(0), response: 0.5 };
    const own = growthOf(rig, noise(0));
    const weak = growthOf(rig, { x: half, y: half });
    expect(weak.terms.imageMotionArcsec).toBeLessThan(own.terms.imageMotionArcsec);
    expect(weak.terms.otherTrackingArcsec).toBeGreaterThan(own.terms.otherTrackingArcsec);
    // The same as half the gain.
    const slow = growthOf(rig, noise(0), { proportionalGain: rig.tracking.proportionalGain / 2 });
    expectWithin(weak.fwhmArcsec.value, slow.fwhmArcsec.value, 1e-12, 'rounding');
  });
  test('an offset that drifts by 1 arcsec during a picture smears by its rms, 1 / sqrt(12)', () => {
    const axis = { noiseArcsec: exactly(0), response: 1, driftArcsec: 1 };
    const drift = growthOf(rig, { x: axis, y: axis }).terms.offsetDriftArcsec;
    expectWithin(drift, 2.35482 / Math.sqrt(12), 1e-5, 'six digits by hand');
  });
  test('a loop whose gain times response is 2 or more is unstable', () => {
    const over = { noiseArcsec: exactly(0), response: 1.25 };
    expect(imageGrowth(rig, { x: over, y: over }, { proportionalGain: 1.6 })).toBeUndefined();
  });
});
