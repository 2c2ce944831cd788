import { imageMotionArcsec, randomStream } from '@holdfast/psf';
import { imageGrowth, loopNoiseFactor, measureError, rmsWithinBudgetArcsec } from '@holdfast/sim';
import { describe, expect, test } from 'vitest';
import { axisRmsOf } from '../../packages/sim/src/budget/budget.ts';
import { type ChasedAirOptions, chasedAirArcsec } from '../../packages/sim/src/budget/chased-air.ts';
import { prepareImageMotion } from '../../packages/sim/src/budget/image-motion.ts';
import { buildScene } from '../../packages/sim/src/trials/scene.ts';
import { expectWithin, expectWithinSigmas } from '../expect-within.ts';
import { smallRig } from './small-rig.ts';

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

const none = { value: 0, standardError: 0 };

describe('growth of the stars in the picture', () => {
  const rig = smallRig();
  test('blurs add in quadrature, worked by hand', () => {
    // seeing 2.5; other tracking 0.5 * 2.35482 = 1.17741; pixel 1.10008 * 2.35482 / sqrt(12) = 0.74780
    const { fwhmPerfectArcsec, fwhmArcsec, growthPercent, terms } = imageGrowth(rig, {
      value: 1,
      standardError: 0.1,
    });
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
  test('its standard error is the slope times that of the rms', () => {
    const at = (value: number) => imageGrowth(rig, { value, standardError: 0.01 }).growthPercent;
    const slope = (at(1.001).value - at(0.999).value) / 0.002;
    expectWithin(at(1).standardError, 0.01 * slope, 1e-5, 'central difference');
  });
  test('the error that the budget allows is the inverse of the growth', () => {
    const value = rmsWithinBudgetArcsec(rig);
    expectWithin(imageGrowth(rig, { value, standardError: 0 }).growthPercent.value, 5, 1e-9, 'rounding');
  });
  test('no error, no growth; the seeing is the largest term of a usual rig', () => {
    const none = imageGrowth(rig, { value: 0, standardError: 0 });
    expect(none.growthPercent.value).toBe(0);
    expect(none.largestTerm).toBe('seeing');
    expect(imageGrowth(rig, { value: 5, standardError: 0 }).largestTerm).toBe('guide star');
  });
  test('the star is as long as its axes differ, worked by hand', () => {
    const along = (value: number) => ({ value, standardError: 0 });
    const { axes, fwhmPerfectArcsec } = imageGrowth(rig, along(1), {
      xArcsec: along(Math.sqrt(2)),
      yArcsec: along(0),
    });
    expect(axes?.fwhmYArcsec).toBe(fwhmPerfectArcsec);
    // 1.54158 arcsec for 1 arcsec of error, as above
    const long = Math.sqrt(fwhmPerfectArcsec ** 2 + 2 * 1.54158 ** 2);
    expectWithin(axes?.fwhmXArcsec ?? 0, long, 5e-5, 'five digits by hand');
    expectWithin(axes?.elongation.value ?? 0, long / fwhmPerfectArcsec, 2e-5, 'five digits by hand');
  });
  test('a comet is measured worse along its tail, and the picture shows it', () => {
    const offAxis = { offAxisMm: 14, telescope: { design: 'paraboloid' } };
    const comet = smallRig({ guideStar: { magnitude: 13 }, offAxis });
    const error = measureError(buildScene(comet, { focusShiftUm: 0 }), {
      estimator: 'centerOfMass',
      seed: 1,
      trials: 1024,
    });
    const { xArcsec, yArcsec } = axisRmsOf(error) ?? { xArcsec: none, yArcsec: none };
    const apart = Math.sqrt(xArcsec.standardError ** 2 + yArcsec.standardError ** 2);
    expect(Math.abs(xArcsec.value - yArcsec.value)).toBeGreaterThan(4 * apart);
    const { axes } = imageGrowth(comet, error.rmsArcsec ?? none, { xArcsec, yArcsec });
    const { elongation } = axes ?? { elongation: none };
    expect(elongation.value - 1).toBeGreaterThan(4 * elongation.standardError);
    // Both axes together are the growth: FWHM^2 is the mean of both squares.
    const growth = imageGrowth(comet, error.rmsArcsec ?? none);
    const squares = ((axes?.fwhmXArcsec ?? 0) ** 2 + (axes?.fwhmYArcsec ?? 0) ** 2) / 2;
    expectWithin(Math.sqrt(squares) / growth.fwhmArcsec.value, 1, 1e-3, 'scatter by trials - 1');
  });
  test('the error along both axes is bias and scatter together, and adds up to the rms', () => {
    const error = measureError(buildScene(rig, { focusShiftUm: 300 }), {
      estimator: 'centerOfMass',
      seed: 1,
      trials: 256,
    });
    const axes = axisRmsOf(error);
    const { xArcsec, yArcsec } = axes ?? { xArcsec: { value: 0 }, yArcsec: { value: 0 } };
    const rms = Math.sqrt((xArcsec.value ** 2 + yArcsec.value ** 2) / 2);
    // The scatter divides by trials - 1, the rms by trials.
    expectWithin(rms / (error.rmsArcsec?.value ?? 0), 1, 0.003, 'half of 1 / 256');
    expect(axisRmsOf({ ...error, rmsPx: undefined } as never)).toBeUndefined();
  });
});
