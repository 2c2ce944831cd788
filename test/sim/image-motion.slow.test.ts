import { imageMotionArcsec, randomStream } from '@holdfast/psf';
import { preparePhaseScreen, pupilGrid } from '@holdfast/psf/internal';
import { describe, expect, test } from 'vitest';
import { prepareMeanSlope } from '../../packages/psf/src/waves/mean-slope.ts';
import { type MovingAir, prepareImageMotion } from '../../packages/sim/src/motion/image-motion.ts';
import { motionSpectrum, slopeFilter } from '../../packages/sim/src/motion/image-motion-spectrum.ts';
import { expectWithin, expectWithinSigmas } from '../expect-within.ts';
import { besselJ } from '../psf/bessel.ts';

const air: MovingAir = {
  seeingFwhmArcsec: 2.5,
  wavelengthNm: 550,
  apertureMm: 200,
  obstructionRatio: 0,
  windMPerS: 10,
};

/** Integral over the logarithm of frequency, in D / v. */
function overFrequencies(
  spectrum: (frequency: number) => number,
  weight: (frequency: number) => number,
): number {
  const step = 0.002;
  let sum = 0;
  for (let w = Math.log(1e-9); w < Math.log(10); w += step) {
    const f = Math.exp(w);
    sum += step * f * spectrum(f) * weight(f);
  }
  return sum;
}

describe('what an aperture leaves of a wave', () => {
  test.each([0, 0.35, 0.6])('is that of its Bessel functions, obstruction %d', (eps) => {
    const left = slopeFilter(eps);
    const airy = (x: number) => (x === 0 ? 1 : (2 * besselJ(1, x)) / x);
    for (const k of [0, 0.013, 0.5, 1.2197, 3.337, 9.1, 30]) {
      const exact = (airy(Math.PI * k) - eps * eps * airy(Math.PI * eps * k)) / (1 - eps * eps);
      expectWithin(left(k), exact, 4e-5, 'linear between points 0.01 apart');
    }
  });
});

describe('the spectrum', () => {
  // pi * integral of k^3 W(k) A(k)^2 over k: the same variance summed over directions first. Its tails are
  // left out alike.
  test.each([
    [0, Infinity],
    [0.35, Infinity],
    [0, 100],
    [0.46, 20],
  ])(
    'adds up to the variance by another road: obstruction %d, outer scale %d',
    (obstructionRatio, outerScale) => {
      const airy = (x: number) => (x < 1e-9 ? 1 : (2 * besselJ(1, x)) / x);
      const e2 = obstructionRatio ** 2;
      let variance = 0;
      const step = 0.01;
      for (let w = Math.log(1e-9); w < Math.log(60); w += step) {
        const k = Math.exp(w);
        const left = (airy(Math.PI * k) - e2 * airy(Math.PI * obstructionRatio * k)) / (1 - e2);
        variance += step * k ** 4 * (k * k + outerScale ** -2) ** (-11 / 6) * left * left;
      }
      variance *= Math.PI * 0.0228956;
      const { along, across } = motionSpectrum({ obstructionRatio, outerScale });
      for (const spectrum of [along, across])
        expectWithin(
          overFrequencies(spectrum, () => 1) / variance,
          1,
          0.001,
          'its table; the tails of either',
        );
    },
  );
  // The defining integral over the frequency across the wind, point by point.
  test.each([
    [0, Infinity],
    [0.35, Infinity],
    [0.5, 50],
  ])('is its integral at any frequency: obstruction %d, outer scale %d', (obstructionRatio, outerScale) => {
    const airy = (x: number) => (x < 1e-9 ? 1 : (2 * besselJ(1, x)) / x);
    const e2 = obstructionRatio ** 2;
    const { along, across } = motionSpectrum({ obstructionRatio, outerScale });
    for (const [u, within] of [
      [2.7e-7, 0.01],
      [0.0123, 0.01],
      [0.171, 0.01],
      [0.613, 0.03],
      [1.37, 0.03],
      [2.83, 0.03],
      [6.13, 0.05],
      [9.31, 0.05],
    ]) {
      let sumAlong = 0;
      let sumAcross = 0;
      const step = 0.02;
      for (let w = Math.log(u) - 12; w < Math.log(60); w += step) {
        const q = Math.exp(w);
        const k = Math.sqrt(u * u + q * q);
        const left = (airy(Math.PI * k) - e2 * airy(Math.PI * obstructionRatio * k)) / (1 - e2);
        const power = 4 * 0.0228956 * step * q * (k * k + outerScale ** -2) ** (-11 / 6) * left * left;
        sumAlong += u * u * power;
        sumAcross += q * q * power;
      }
      expectWithin(along(u) / sumAlong, 1, within, `table, at ${u}`);
      expectWithin(across(u) / sumAcross, 1, within, `table, at ${u}`);
    }
  });
  test('an outer scale flattens it below v / L0 and leaves it alone above', () => {
    const free = motionSpectrum({ obstructionRatio: 0, outerScale: Infinity });
    const held = motionSpectrum({ obstructionRatio: 0, outerScale: 50 });
    expectWithin(held.across(1e-4) / held.across(1e-5), 1, 0.01, 'flat');
    expectWithin(held.across(1) / free.across(1), 1, 0.01, 'the same');
  });
});

/** Mean over nights of the products of two exposure means, with the spread between nights as its error. */
function covariance(
  nights: number,
  pairs: (night: number) => readonly [number, number],
): { mean: number; error: number } {
  let sum = 0;
  let squares = 0;
  for (let night = 0; night < nights; night++) {
    const [a, b] = pairs(night);
    sum += a * b;
    squares += (a * b) ** 2;
  }
  const mean = sum / nights;
  return { mean, error: Math.sqrt((squares / nights - mean * mean) / (nights - 1)) };
}

describe('the motion of many nights', () => {
  const night = prepareImageMotion(air);
  const here = { x: 0, y: 0 };
  const there = { x: 0, y: 0 };
  const means = (exposureS: number, lagS: number, axis: 'x' | 'y', nights = 900) =>
    covariance(nights, (n) => {
      const motion = night(randomStream('night', axis, exposureS, lagS, n));
      motion.meanInto(here, 1000, exposureS);
      motion.meanInto(there, 1000 + lagS, exposureS);
      return [here[axis], there[axis]];
    });
  const { along, across } = motionSpectrum({ obstructionRatio: 0, outerScale: Infinity });
  const short2 =
    imageMotionArcsec({
      seeing: { fwhmArcsec: 2.5, wavelengthNm: 550 },
      apertureMm: 200,
      wavelengthNm: 550,
    }) ** 2;
  const hz = 10_000 / 200;
  const sinc2 = (turns: number) => (turns === 0 ? 1 : (Math.sin(Math.PI * turns) / (Math.PI * turns)) ** 2);

  test.each(['x', 'y'] as const)('has the variance of short exposures along %s', (axis) => {
    const { mean, error } = means(0, 0, axis, 1800);
    expect(error / short2).toBeLessThan(0.04);
    // 0.2 % lie below the slowest wave.
    expectWithinSigmas(mean, 0.998 * short2, error, 4);
  });
  test.each([
    ['x', 2, 0],
    ['y', 2, 0],
    ['x', 0.1, 0.1],
    ['y', 0.1, 0.1],
    ['x', 2, 2.5],
    ['y', 2, 2.5],
    ['y', 1, 30],
  ] as const)(
    'on %s, exposures of %d s that are %d s apart go together as the spectrum says',
    (axis, exposureS, lagS) => {
      const { mean, error } = means(exposureS, lagS, axis);
      const expected =
        (short2 / 0.1698) *
        overFrequencies(
          axis === 'x' ? along : across,
          (f) => sinc2(f * hz * exposureS) * Math.cos(2 * Math.PI * f * hz * lagS),
        );
      expectWithinSigmas(mean, expected, error, 4);
    },
  );
  test('turns with the wind', () => {
    const turned = prepareImageMotion({ ...air, windAngleDeg: 90 })(randomStream('turned'));
    const straight = night(randomStream('turned'));
    straight.meanInto(here, 5, 1);
    turned.meanInto(there, 5, 1);
    expectWithin(there.x, -here.y, 1e-12, 'rounding');
    expectWithin(there.y, here.x, 1e-12, 'rounding');
  });
  test('the mean of an exposure is the mean of its halves', () => {
    const motion = night(randomStream('halves'));
    motion.meanInto(here, 7, 1);
    const [x, y] = [here.x, here.y];
    motion.meanInto(here, 7, 0.5);
    motion.meanInto(there, 7.5, 0.5);
    expectWithin((here.x + there.x) / 2, x, 1e-12, 'rounding');
    expectWithin((here.y + there.y) / 2, y, 1e-12, 'rounding');
  });
});

describe('the spectrum against phase screens that the wind carries over a pupil with an obstruction', () => {
  // D = 200 mm, 16 samples across; motion in units of lambda^2 D^(-1/3) r0^(-5/3) by r0 = D.
  const samples = 16;
  const obstructionRatio = 0.4;
  const seeing = { friedParameterMm: 200, wavelengthNm: 500 };
  const screen = preparePhaseScreen({ seeing, samples, spacingMm: 200 / samples }, randomStream(0));
  const measure = prepareMeanSlope(pupilGrid({ obstructionRatio }, samples), samples);
  const opdNm = new Float64Array(samples * samples);
  const skies = 300;
  const travelDiameters = 6;
  const moments = 24;
  const values = {
    x: { mean2: [] as number[], next: [] as number[] },
    y: { mean2: [] as number[], next: [] as number[] },
  };
  for (let sky = 0; sky < skies; sky++) {
    screen.renew(randomStream('carried', sky));
    const exposures = [0, 1].map((exposure) => {
      const sum = { x: 0, y: 0 };
      const slope = { x: 0, y: 0 };
      for (let m = 0; m < moments; m++) {
        screen.opdInto(opdNm, 200 * travelDiameters * (exposure + (m + 0.5) / moments));
        measure(opdNm, slope);
        // nm a sample -> lambda / D
        sum.x += (slope.x * samples) / 500 / moments;
        sum.y += (slope.y * samples) / 500 / moments;
      }
      return sum;
    });
    for (const axis of ['x', 'y'] as const) {
      values[axis].mean2.push((exposures[0][axis] ** 2 + exposures[1][axis] ** 2) / 2);
      values[axis].next.push(exposures[0][axis] * exposures[1][axis]);
    }
  }
  const estimate = (list: readonly number[]) => {
    const mean = list.reduce((a, b) => a + b, 0) / list.length;
    const spread = list.reduce((a, b) => a + (b - mean) ** 2, 0) / (list.length - 1);
    return { mean, error: Math.sqrt(spread / list.length) };
  };
  const { along, across } = motionSpectrum({ obstructionRatio, outerScale: Infinity });
  const sinc2 = (turns: number) => (Math.sin(Math.PI * turns) / (Math.PI * turns)) ** 2;
  // The screens' own errors: 2 % for the gray edge of 16 samples and the placing of their waves.
  test.each([
    ['x', along],
    ['y', across],
  ] as const)('exposures of six diameters of travel, %s', (axis, spectrum) => {
    const variance = estimate(values[axis].mean2);
    const expected = overFrequencies(spectrum, (f) => sinc2(f * travelDiameters));
    expect(variance.error / expected).toBeLessThan(0.08);
    expectWithin(variance.mean, expected, 4 * variance.error + 0.02 * expected, 'chance; the screens');
    const next = estimate(values[axis].next);
    const expectedNext = overFrequencies(
      spectrum,
      (f) => sinc2(f * travelDiameters) * Math.cos(2 * Math.PI * f * travelDiameters),
    );
    expectWithin(next.mean, expectedNext, 4 * next.error + 0.02 * expected, 'chance; the screens');
  });
});

test('what cannot be is named', () => {
  expect(() => prepareImageMotion({ ...air, windMPerS: 0 })).toThrow(
    /windMPerS must be a finite number > 0, got 0/,
  );
  expect(() => prepareImageMotion({ ...air, obstructionRatio: 1 })).toThrow(
    /obstructionRatio must be in \[0, 1\)/,
  );
  expect(() => prepareImageMotion({ ...air, outerScaleMm: -1 })).toThrow(/outerScaleMm/);
});
