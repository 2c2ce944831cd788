/** A star in a short exposure: still air, speckles, image motion, and what many exposures add up to. */
import {
  createImage,
  prepareShortExposure,
  prepareStar,
  randomStream,
  type ShortExposureOptions,
  shortExposure,
} from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { preparePhaseScreen } from '../../packages/psf/src/air/phase-screen.ts';
import { phasePower } from '../../packages/psf/src/air/turbulence.ts';
import { gaussLegendre } from '../../packages/psf/src/numerics/quadrature.ts';
import { prepareMeanSlope } from '../../packages/psf/src/waves/mean-slope.ts';
import { pupilGrid } from '../../packages/psf/src/waves/pupil-grid.ts';
import { expectWithin } from '../expect-within.ts';
import { besselJ } from './bessel.ts';
import { lightMoments } from './light-moments.ts';

const width = 65;
const height = 60;
const at = { x: 31.3, y: 29.6, flux: 1000 };
/** Two Fried parameters across; a pixel is one lambda F; in the ring two waves of defocus, 16 px across. */
const calm: ShortExposureOptions = {
  pupil: { obstructionRatio: 0.3 },
  wavefront: {},
  fNumber: 5,
  apertureMm: 100,
  wavelengthNm: 500,
  pixelSizeUm: 2.5,
  seeing: { friedParameterMm: 50 },
  windMPerS: 0,
  exposureS: 0.01,
  accuracy: { minPupilSamples: 64, foldedLight: 0.02 },
  width,
  height,
};
const ring = { focusShiftUm: 200 };

const average = (values: readonly number[]): number =>
  values.reduce((sum, value) => sum + value, 0) / values.length;
const rms = (values: readonly number[]): number =>
  Math.sqrt(values.reduce((sum, value) => sum + value * value, 0) / values.length);

describe('in still air', () => {
  const seeing = { friedParameterMm: 1e9 };
  // The edges of the pupil are one sample wide: nothing to speak of in focus, the finest fringes of a ring
  // lose some.
  test.each([
    ['in focus', {}, 3e-4],
    ['as a ring of two waves', ring, 0.01],
    ['as a comet', { zernikesNm: { 7: 60, 8: -40, 5: 50 } }, 0.002],
  ])('a star %s is the diffraction image', (_, wavefront, tolerance) => {
    const pixels = new Float64Array(width * height);
    prepareShortExposure({ ...calm, wavefront, seeing }, randomStream(1)).exposeInto(pixels, at);
    const reference = new Float64Array(width * height);
    const { pupil, fNumber, wavelengthNm, pixelSizeUm, accuracy = {} } = calm;
    const shape = {
      kind: 'diffraction',
      pupil,
      wavefront,
      fNumber,
      wavelengthNm,
      pixelSizeUm,
      accuracy,
    } as const;
    prepareStar(shape, { width, height }).renderInto(reference, at.x, at.y, at.flux);
    const peak = Math.max(...reference);
    let worst = 0;
    // Where that image is whole: beyond, each has its own way to end.
    for (let j = 0, k = 0; j < height; j++)
      for (let i = 0; i < width; i++, k++)
        if ((i - at.x) ** 2 + (j - at.y) ** 2 < 26 ** 2)
          worst = Math.max(worst, Math.abs(pixels[k] - reference[k]) / peak);
    expect(worst).toBeLessThan(tolerance);
    // As stated, not far better.
    expect(worst).toBeGreaterThan(tolerance / 4);
  });
});

describe('image motion', () => {
  const pixels = new Float64Array(width * height);
  const focused = prepareShortExposure(calm, randomStream(1));
  const defocused = prepareShortExposure({ ...calm, wavefront: ring }, randomStream(1));
  const skies = 100;
  const path: number[] = [];
  const focusLess: number[] = [];
  const ringLess: number[] = [];
  const ringLessFocus: number[] = [];
  for (let sky = 0; sky < skies; sky++) {
    focused.renew(randomStream('pair', sky));
    defocused.renew(randomStream('pair', sky));
    const motion = focused.exposeInto(pixels, at);
    const inFocus = lightMoments(pixels, width);
    const ringMotion = defocused.exposeInto(pixels, at);
    const inRing = lightMoments(pixels, width);
    expect(ringMotion.meanX).toBe(motion.meanX);
    for (const [axis, mean] of [
      ['x', motion.meanX],
      ['y', motion.meanY],
    ] as const) {
      path.push(mean);
      focusLess.push(inFocus[axis] - at[axis] - mean);
      ringLess.push(inRing[axis] - at[axis] - mean);
      ringLessFocus.push(inRing[axis] - inFocus[axis]);
    }
  }

  test('is that of the mean slope of the screen over the pupil', () => {
    // 0.1698 lambda^2 D^(-1/3) r0^(-5/3) for a clear pupil (test/published/image-motion.slow.test.ts); 0.3
    // obstructed hardly differs. In px of lambda F: divided by (lambda / D)^2.
    const expected = Math.sqrt(0.1698 * 2 ** (5 / 3));
    // 200 values, nearly independent.
    expectWithin(rms(path) / expected, 1, 4 / Math.sqrt(2 * 200), 'chance, 4 standard errors');
  });

  test('is the same for a star in focus and for a ring', () => {
    // The window cuts off faint light, whose share of the center of mass falls only as one over its size.
    // Both lose the same, so that they are nearer to each other than to the slope.
    expect(rms(focusLess) / rms(path)).toBeLessThan(0.01);
    expect(rms(ringLess) / rms(path)).toBeLessThan(0.01);
    expect(rms(ringLessFocus) / rms(path)).toBeLessThan(0.003);
    const cross = path.reduce((sum, value, k) => sum + value * (value + ringLess[k]), 0);
    expectWithin(cross / skies / 2 / rms(path) ** 2, 1, 0.01, 'light outside the window');
  });
});

describe('in moving air', () => {
  const windy = { ...calm, wavefront: ring, windMPerS: 10, windAngleDeg: 30 };

  test('a ring breaks into speckles, which longer exposures wash out', () => {
    /** Scatter of the brightness along the ring, over its mean. */
    const contrast = (pixels: Float64Array): number => {
      const along: number[] = [];
      for (let j = 0, k = 0; j < height; j++)
        for (let i = 0; i < width; i++, k++) {
          const r = Math.sqrt((i - at.x) ** 2 + (j - at.y) ** 2);
          if (r > 4.5 && r < 6) along.push(pixels[k]);
        }
      return rms(along.map((value) => value / average(along) - 1));
    };
    const short: number[] = [];
    const long: number[] = [];
    const pixels = new Float64Array(width * height);
    const one = prepareShortExposure({ ...windy, exposureS: 0.001 }, randomStream(1));
    const many = prepareShortExposure({ ...windy, exposureS: 0.05 }, randomStream(1));
    for (let sky = 0; sky < 8; sky++) {
      one.renew(randomStream('speckles', sky));
      many.renew(randomStream('speckles', sky));
      one.exposeInto(pixels, at);
      short.push(contrast(pixels));
      many.exposeInto(pixels, at);
      long.push(contrast(pixels));
    }
    const still = { ...windy, seeing: { friedParameterMm: 1e9 } };
    prepareShortExposure(still, randomStream(1)).exposeInto(pixels, at);
    const calmContrast = contrast(pixels);
    expect(rms(short)).toBeGreaterThan(3 * calmContrast);
    expect(rms(long)).toBeLessThan(0.5 * rms(short));
  });

  test('moments a third of a Fried parameter apart are close enough', () => {
    const exposureS = 0.01; // the wind crosses the aperture once
    const one = prepareShortExposure({ ...windy, exposureS }, randomStream(2));
    const fine = prepareShortExposure({ ...windy, exposureS, maxTravelMm: 3 }, randomStream(2));
    const [a, b] = [new Float64Array(width * height), new Float64Array(width * height)];
    const difference: number[] = [];
    const motion: number[] = [];
    for (let sky = 0; sky < 4; sky++) {
      one.renew(randomStream('fine', sky));
      fine.renew(randomStream('fine', sky));
      const { meanX } = one.exposeInto(a, at);
      motion.push(meanX - fine.exposeInto(b, at).meanX);
      difference.push(rms([...a].map((value, k) => value - b[k])) / rms([...b]));
    }
    expect(rms(difference)).toBeLessThan(0.04);
    expect(rms(motion)).toBeLessThan(0.005);
  });

  test('exposures that follow each other continue one sky', () => {
    const plan = prepareShortExposure({ ...windy, exposureS: 0.02 }, randomStream(3));
    const pixels = new Float64Array(width * height);
    const first = plan.exposeInto(pixels, at);
    const second = plan.exposeInto(pixels, { ...at, startS: 0.02 });
    expectWithin(first.timesS[0], 0.01 / plan.steps, 1e-15, 'rounding');
    expectWithin(second.timesS[0] - first.timesS[plan.steps - 1], 0.02 / plan.steps, 1e-15, 'rounding');
    const seam = Math.abs(second.pathX[0] - first.pathX[plan.steps - 1]);
    const steps = first.pathX.subarray(1).map((value, k) => Math.abs(value - first.pathX[k]));
    expect(seam).toBeLessThan(1.5 * Math.max(...steps));
    const again = plan.exposeInto(createImage(width, height), at);
    expect(again.pathX).toEqual(first.pathX);
  });

  test('motion is averaged by the exposure as frozen flow says', () => {
    // Variance of the mean of the slope while the screen travels d along x, over a disc of diameter D:
    //   lambda^2 * integral of W(k) kx^2 (2 J1(pi k D) / (pi k D))^2 (sin(pi kx d) / (pi kx d))^2 over the
    //   plane and with ky^2 for the axis across. In units of lambda^2 / D^2, with r0 = D and D = 1.
    const byFlow = (travel: number, axis: 'along' | 'across'): number => {
      const { nodes, weights } = gaussLegendre(160);
      const [low, high] = [-12, Math.log(12)];
      let sum = 0;
      for (let n = 0; n < nodes.length; n++) {
        const k = Math.exp(low + ((high - low) * (1 + nodes[n])) / 2);
        const x = Math.PI * k;
        const disc = k < 1e-4 ? 1 : (2 * besselJ(1, x)) / x;
        let turn = 0;
        for (let t = 0; t < 128; t++) {
          const [c, s] = [Math.cos((Math.PI * (t + 0.5)) / 128), Math.sin((Math.PI * (t + 0.5)) / 128)];
          const phase = Math.PI * k * c * travel;
          const mean = Math.abs(phase) < 1e-6 ? 1 : Math.sin(phase) / phase;
          turn += ((2 * Math.PI) / 128) * (axis === 'across' ? s * s : c * c) * mean * mean;
        }
        sum +=
          weights[n] *
          k ** 4 *
          phasePower(k * k, { friedParameterMm: 1, outerScaleMm: 20 }) *
          disc ** 2 *
          turn;
      }
      return ((high - low) / 2) * sum;
    };
    const samples = 24;
    const measure = prepareMeanSlope(pupilGrid({ obstructionRatio: 0 }, samples), samples);
    const seeing = { friedParameterMm: 100, wavelengthNm: 500, outerScaleMm: 2000 };
    const screen = preparePhaseScreen({ seeing, samples, spacingMm: 100 / samples }, randomStream(4));
    const opd = new Float64Array(samples * samples);
    const slope = { x: 0, y: 0 };
    // Weights of Simpson's rule for means over the moments -1, -0.75, ... 1 apertures and over the middle
    // five of them.
    const rules = new Map([
      [0, [0, 0, 0, 0, 1, 0, 0, 0, 0]],
      [1, [0, 0, 1, 4, 2, 4, 1, 0, 0].map((weight) => weight / 12)],
      [2, [1, 4, 2, 4, 2, 4, 2, 4, 1].map((weight) => weight / 24)],
    ]);
    const skies = 400;
    const squares = [...rules].map(() => ({ along: [] as number[], across: [] as number[] }));
    for (let sky = 0; sky < skies; sky++) {
      screen.renew(randomStream('flow', sky));
      const along: number[] = [];
      const across: number[] = [];
      for (let moment = -4; moment <= 4; moment++) {
        screen.opdInto(opd, moment * 25);
        measure(opd, slope);
        along.push((slope.x * samples) / 500);
        across.push((slope.y * samples) / 500);
      }
      [...rules.values()].forEach((weights, n) => {
        const mean = (path: number[]): number =>
          weights.reduce((sum, weight, k) => sum + weight * path[k], 0);
        squares[n].along.push(mean(along) ** 2);
        squares[n].across.push(mean(across) ** 2);
      });
    }
    for (const axis of ['along', 'across'] as const) {
      const still = squares[0][axis];
      const chance = 4 * Math.sqrt(2 / skies);
      expectWithin(average(still) / byFlow(0, axis), 1, chance, 'chance, 4 standard errors');
      [...rules.keys()].forEach((travel, n) => {
        if (travel === 0) return;
        // Against the same skies without averaging, which takes most of the chance away.
        const ratio = byFlow(travel, axis) / byFlow(0, axis);
        const surplus = squares[n][axis].map((square, sky) => square - ratio * still[sky]);
        const unit = ratio * average(still);
        const standardError = rms(surplus) / Math.sqrt(skies) / unit;
        expect(standardError).toBeLessThan(0.06);
        expectWithin(average(surplus) / unit, 0, 4 * standardError, 'chance, 4 standard errors');
        expect(4 * standardError).toBeLessThan(1 / ratio - 1);
      });
    }
  });

  test('many moments add up to the long exposure of the seeing', () => {
    const { pupil, fNumber, wavelengthNm, pixelSizeUm, accuracy = {}, apertureMm } = calm;
    const pixels = new Float64Array(width * height);
    const sum = new Float64Array(width * height);
    const plan = prepareShortExposure(
      { ...calm, windMPerS: 10, exposureS: 0.04, maxTravelMm: 200 },
      randomStream(5),
    );
    const skies = 240;
    for (let sky = 0; sky < skies; sky++) {
      plan.renew(randomStream('long', sky));
      plan.exposeInto(pixels, at);
      for (let k = 0; k < sum.length; k++) sum[k] += pixels[k] / skies;
    }
    const shape = {
      kind: 'diffraction',
      pupil,
      wavefront: {},
      fNumber,
      wavelengthNm,
      pixelSizeUm,
      accuracy,
      seeing: { ...calm.seeing, apertureMm },
    } as const;
    prepareStar(shape, { width, height }).renderInto(pixels, at.x, at.y, at.flux);
    const found = fullWidth(sum);
    const expected = fullWidth(pixels);
    expectWithin(found / expected, 1, 0.05, 'chance of 480 moments, 2 % standard error');
    expectWithin(sum[30 * width + 31] / pixels[30 * width + 31], 1, 0.08, 'chance of 480 moments');
  });
});

/** FWHM of a star at `at`, px, from the profile over rings half a pixel wide. */
function fullWidth(pixels: Float64Array): number {
  const sum = new Float64Array(40);
  const count = new Float64Array(40);
  const radius = new Float64Array(40);
  for (let j = 0, k = 0; j < height; j++)
    for (let i = 0; i < width; i++, k++) {
      const r = Math.sqrt((i - at.x) ** 2 + (j - at.y) ** 2);
      const bin = Math.floor(2 * r);
      if (bin >= 40) continue;
      sum[bin] += pixels[k];
      radius[bin] += r;
      count[bin]++;
    }
  const profile = Array.from(sum, (value, bin) => ({
    r: radius[bin] / count[bin],
    value: value / count[bin],
  }));
  const filled = profile.filter(({ r }) => r >= 0);
  const peak = filled[0].value;
  const below = filled.findIndex(({ value }) => value < peak / 2);
  const [a, b] = [filled[below - 1], filled[below]];
  return 2 * (a.r + ((a.value - peak / 2) / (a.value - b.value)) * (b.r - a.r));
}

describe('the plan', () => {
  const small: ShortExposureOptions = { ...calm, width: 20, height: 14, windMPerS: 5 };

  test('draws the same into pixels, an image and a turned image', () => {
    const pixels = new Float64Array(20 * 14);
    const plan = prepareShortExposure(small, randomStream(6));
    const { heldFraction } = plan.exposeInto(pixels, { x: 8.2, y: 7.7, flux: 50 });
    const { image, pathX } = shortExposure(small, { x: 8.2, y: 7.7, flux: 50 }, randomStream(6));
    expect(image.data).toEqual(pixels);
    expect(pathX.length).toBe(plan.steps);
    const turned = createImage(14, 20).transpose(1, 0);
    plan.exposeInto(turned, { x: 8.2, y: 7.7, flux: 50 });
    expect(turned.get(3, 9)).toBe(pixels[3 * 20 + 9]);
    expectWithin(pixels.reduce((sum, value) => sum + value, 0) / 50, heldFraction, 1e-12, 'rounding');
    expect(heldFraction).toBeLessThan(1);
    expect(Math.min(...pixels)).toBeGreaterThanOrEqual(0);
    const dark = plan.exposeInto(pixels, { x: 8.2, y: 7.7, flux: 0 });
    expectWithin(dark.heldFraction, heldFraction, 1e-12, 'rounding: the same light of a star without any');
    expect(pixels.every((value) => value === 0)).toBe(true);
  });

  test('refuses a bad call', () => {
    const random = randomStream(1);
    const bad = (change: Partial<ShortExposureOptions>) => () =>
      prepareShortExposure({ ...small, ...change }, random);
    expect(bad({ windMPerS: -1 })).toThrow(/windMPerS .* got -1/);
    expect(bad({ exposureS: 0 })).toThrow(/exposureS .* got 0/);
    expect(bad({ apertureMm: Number.NaN })).toThrow(/apertureMm .* got NaN/);
    expect(bad({ maxTravelMm: 0 })).toThrow(/maxTravelMm .* got 0/);
    expect(bad({ width: 0 })).toThrow(/width .* got 0/);
    expect(bad({ fNumber: 0.3 })).toThrow(/fNumber .* got 0.3/);
    expect(bad({ seeing: { fwhmArcsec: 0 } })).toThrow(/fwhmArcsec .* got 0/);
    expect(bad({ wavefront: { focusShiftUm: 1e6 } })).toThrow(/pupil samples: needs \d+/);
    const plan = prepareShortExposure(small, random);
    const star = { x: 1, y: 1, flux: 1 };
    expect(() => plan.exposeInto(new Float64Array(20 * 15), star)).toThrow(
      'out must have width * height = 280 values, got 300',
    );
    expect(() => plan.exposeInto(createImage(14, 20), star)).toThrow(/out must be 20 x 14 px, got 14 x 20/);
    expect(() => plan.exposeInto(new Float64Array(280), { ...star, flux: -1 })).toThrow(/flux .* got -1/);
    expect(() => plan.exposeInto(new Float64Array(280), { ...star, startS: Infinity })).toThrow(/startS/);
  });
});
