/** Phase screens: the structure function, the flow, and what the stream decides. */
import { phaseStructure, preparePhaseScreen, randomStream, type Turbulence } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { prepareParts } from '../../packages/psf/src/phase-screen.ts';
import { gaussLegendre } from '../../packages/psf/src/quadrature.ts';
import { phasePower, spectrumConstant, structureConstant } from '../../packages/psf/src/turbulence.ts';
import { expectWithin, expectWithinSigmas } from '../expect-within.ts';
import { besselJ } from './bessel.ts';

const apertureMm = 256;
const air: Turbulence = { friedParameterMm: 100, wavelengthNm: 500 };

/** D(r) = 4 pi * integral of k W(k) (1 - J0(2 pi k r)) dk: in the logarithm of k up to the first wave, then in k. */
function structureByQuadrature(separationMm: number, turbulence: Turbulence): number {
  const { nodes, weights } = gaussLegendre(200);
  const unlike = (k: number): number => {
    const x = 2 * Math.PI * k * separationMm;
    const difference = x < 0.1 ? (x * x) / 4 - x ** 4 / 64 : 1 - besselJ(0, x);
    return k * phasePower(k * k, turbulence) * difference;
  };
  const first = 0.5 / separationMm;
  const last = 30 / separationMm;
  const low = Math.log(1e-18);
  const high = Math.log(first);
  let sum = 0;
  for (let n = 0; n < nodes.length; n++) {
    const k = Math.exp(low + ((high - low) * (1 + nodes[n])) / 2);
    sum += (weights[n] * (high - low) * k * unlike(k)) / 2;
    sum += (weights[n] * (last - first) * unlike(first + ((last - first) * (1 + nodes[n])) / 2)) / 2;
  }
  // Above the last frequency J0 averages out: 1 is left, and the spectrum is that of Kolmogorov.
  return 4 * Math.PI * (sum + (3 / 5) * last * last * phasePower(last * last, turbulence));
}

/** The structure function that the method has, all chance but the placing of the long waves averaged out. */
function structureOfMethod(samples: number, turbulence: Turbulence, separations: number[], skies: number) {
  const spacingMm = apertureMm / samples;
  const options = { ...turbulence, samples, spacingMm };
  const { tile, longWaves } = prepareParts(options, randomStream(1));
  const size = Math.sqrt(tile.power.length);
  const side = size * spacingMm;
  const unlike = (kx: number, ky: number, x: number, y: number): number =>
    4 * Math.sin(Math.PI * (kx * x + ky * y)) ** 2;
  return separations.map((r) => {
    const [x, y] = [0.8 * r, 0.6 * r];
    let short = 0;
    for (let j = 0; j < size; j++)
      for (let i = 0; i < size; i++) {
        const [kx, ky] = [(i < size / 2 ? i : i - size) / side, (j < size / 2 ? j : j - size) / side];
        short += tile.power[j * size + i] * unlike(kx, ky, x, y);
      }
    const sample = Array.from({ length: skies }, (_, sky) => {
      longWaves.renew(randomStream('structure', sky));
      let sum = short + (longWaves.slopeSigma * r) ** 2;
      for (let w = 0; w < longWaves.kx.length; w++)
        sum += longWaves.amplitude[w] ** 2 * unlike(longWaves.kx[w], longWaves.ky[w], x, y);
      return sum;
    });
    return meanOf(sample);
  });
}

function meanOf(sample: readonly number[]): { mean: number; standardError: number } {
  const mean = sample.reduce((sum, value) => sum + value, 0) / sample.length;
  const squares = sample.reduce((sum, value) => sum + (value - mean) ** 2, 0);
  return { mean, standardError: Math.sqrt(squares / (sample.length - 1) / sample.length) };
}

describe('the spectrum', () => {
  test('has the constants of the closed forms', () => {
    // Gamma(6/5) and Gamma(11/6): Abramowitz & Stegun 6.1.
    const [gamma65, gamma116] = [0.918168742399761, 0.9406558582567];
    const fried = ((24 / 5) * gamma65) ** (5 / 6);
    expectWithin(structureConstant, 2 * fried, 1e-12, 'rounding');
    expectWithin(spectrumConstant, (gamma116 ** 2 * fried) / (2 * Math.PI ** (11 / 3)), 1e-14, 'rounding');
  });

  test.each([3, 30, 300])('integrates to the structure function at %d mm', (r) => {
    expectWithin(
      structureByQuadrature(r, air) / phaseStructure(r, 100),
      1,
      2e-4,
      'quadrature of a wavy integrand',
    );
  });
});

describe('the structure function of the screens', () => {
  // What is missing are waves shorter than two samples, hence always below: see the docstring of preparePhaseScreen.
  test.each([
    [64, [-0.4, -0.1, -0.1]],
    [32, [-1.0, -0.2, -0.1]],
  ])('with %d samples across is off by %j percent at 0.1, 0.5 and 1 apertures', (samples, percents) => {
    const separations = [0.1, 0.5, 1].map((part) => part * apertureMm);
    const found = structureOfMethod(samples, air, separations, 2500);
    for (let n = 0; n < 3; n++) {
      const expected = phaseStructure(separations[n], 100);
      const error = (100 * (found[n].mean - expected)) / expected;
      const sigma = (100 * found[n].standardError) / expected;
      expect(sigma).toBeLessThan(0.08);
      expectWithin(error, percents[n], 0.05 + 4 * sigma, 'rounding of the stated value, and chance');
    }
  });

  test.each([2000, 300, 60])('follows an outer scale of %d mm', (outerScaleMm) => {
    const turbulence = { ...air, outerScaleMm };
    const samples = 64;
    const separations = [0.1, 0.5, 1].map((part) => part * apertureMm);
    const found = structureOfMethod(samples, turbulence, separations, 600);
    // Twice the variance of the waves shorter than two samples, outside the square of frequencies that the samples
    // carry: 2 c * 8 * integral over an eighth turn and k, with W of Kolmogorov.
    const eighth = gaussLegendre(8);
    let shadow = 0;
    for (let n = 0; n < 8; n++)
      shadow +=
        ((eighth.weights[n] * Math.PI) / 8) * Math.cos(((1 + eighth.nodes[n]) * Math.PI) / 8) ** (5 / 3);
    const missing =
      2 *
      spectrumConstant *
      8 *
      0.6 *
      shadow *
      ((2 * apertureMm) / samples / air.friedParameterMm) ** (5 / 3);
    for (let n = 0; n < 3; n++) {
      const expected = structureByQuadrature(separations[n], turbulence);
      const sigma = found[n].standardError;
      const tolerance = 0.003 * expected + 4 * sigma;
      expectWithin(found[n].mean, expected - missing, tolerance, 'cells of the frequency plane; chance');
    }
  });

  test('is what the drawn path differences have', () => {
    const samples = 32;
    const screen = preparePhaseScreen({ ...air, samples, spacingMm: apertureMm / samples }, randomStream(3));
    const opd = new Float64Array(samples * samples);
    const steps = [3, 16, 31];
    const sample: number[][] = steps.map(() => []);
    for (let sky = 0; sky < 1500; sky++) {
      screen.renew(randomStream('drawn', sky));
      screen.opdInto(opd);
      steps.forEach((step, n) => {
        let sum = 0;
        let pairs = 0;
        for (let y = 0; y < samples; y++)
          for (let x = 0; x + step < samples; x++, pairs += 2) {
            sum += (opd[y * samples + x + step] - opd[y * samples + x]) ** 2;
            sum += (opd[(x + step) * samples + y] - opd[x * samples + y]) ** 2;
          }
        sample[n].push(sum / pairs);
      });
    }
    steps.forEach((step, n) => {
      const { mean, standardError } = meanOf(sample[n]);
      const radPerNm = (2 * Math.PI) / 500;
      const expected = phaseStructure((step * apertureMm) / samples, 100) / radPerNm ** 2;
      expect(standardError / expected).toBeLessThan(0.03);
      // The method's own error with 32 samples, at most 1 %, stands beside chance.
      expectWithin(mean / expected, 1, 0.01 + (4 * standardError) / expected, 'chance and method');
    });
  });
});

describe('the flow', () => {
  const samples = 32;
  const spacingMm = 8;
  const options = { ...air, samples, spacingMm };
  const still = new Float64Array(samples * samples);
  const moved = new Float64Array(samples * samples);

  /** Mean square of `moved` against `still` carried on by whole samples, rad^2, less the change of the piston. */
  function unlikeness(dx: number, dy: number): number {
    let sum = 0;
    let square = 0;
    let n = 0;
    for (let y = Math.max(0, dy); y < Math.min(samples, samples + dy); y++)
      for (let x = Math.max(0, dx); x < Math.min(samples, samples + dx); x++, n++) {
        const change = ((moved[y * samples + x] - still[(y - dy) * samples + x - dx]) * 2 * Math.PI) / 500;
        sum += change;
        square += change * change;
      }
    return square / n - (sum / n) ** 2;
  }

  test.each([
    [0, 1, 0],
    [90, 0, 1],
    [180, -1, 0],
    [270, 0, -1],
  ])('goes towards %d degrees', (windAngleDeg, dx, dy) => {
    const screen = preparePhaseScreen({ ...options, windAngleDeg }, randomStream(4));
    screen.opdInto(still, 1000);
    screen.opdInto(moved, 1000 + 2 * spacingMm);
    expect(unlikeness(2 * dx, 2 * dy)).toBeLessThan(0.1 * unlikeness(0, 0));
    expect(unlikeness(-2 * dx, -2 * dy)).toBeGreaterThan(unlikeness(0, 0));
  });

  test('boils as slowly as stated', () => {
    // Over a travel d old amplitudes keep cos(pi d / 2 hop): the variance of the change of a wave is 2 (1 - cos) of its
    // own. The tile is renewed over half its side. Only its part is compared: the long waves hardly change in a window.
    const screen = preparePhaseScreen(options, randomStream(5));
    const { tile } = prepareParts(options, randomStream(5));
    const side = Math.sqrt(tile.power.length) * spacingMm;
    const travel = 4 * spacingMm;
    const variance = tile.power.reduce((sum, value) => sum + value, 0);
    const expected = variance * 2 * (1 - Math.cos((Math.PI * travel) / side));
    const sample = Array.from({ length: 400 }, (_, sky) => {
      screen.renew(randomStream('boil', sky));
      screen.opdInto(still, 0.1 * side);
      screen.opdInto(moved, 0.1 * side + travel);
      return unlikeness(4, 0);
    });
    const { mean, standardError } = meanOf(sample);
    expectWithin(
      mean / expected,
      1,
      0.1 + (4 * standardError) / expected,
      'the share of the long waves; chance',
    );
  });

  test('does not come back after the side of the tile', () => {
    const screen = preparePhaseScreen({ ...air, outerScaleMm: 500, samples, spacingMm }, randomStream(6));
    const side = 64 * spacingMm;
    for (const travel of [side, 2 * side, 16 * side]) {
      const sample = Array.from({ length: 300 }, (_, sky) => {
        screen.renew(randomStream('back', sky));
        screen.opdInto(still);
        screen.opdInto(moved, travel);
        let product = 0;
        // Differences over four samples: the part that a periodic tile would repeat.
        for (let y = 0; y < samples; y++)
          for (let x = 4; x < samples; x++) {
            const k = y * samples + x;
            product += (still[k] - still[k - 4]) * (moved[k] - moved[k - 4]);
          }
        return product;
      });
      const { mean, standardError } = meanOf(sample);
      expectWithinSigmas(mean, 0, standardError, 4);
    }
  });

  test('keeps the structure function along a run of 2000 apertures', () => {
    const turbulence = { ...air, outerScaleMm: 1000 };
    const run = preparePhaseScreen({ ...options, ...turbulence }, randomStream(7));
    const step = samples / 2;
    const sample = Array.from({ length: 2000 }, (_, frame) => {
      run.opdInto(moved, frame * apertureMm);
      let sum = 0;
      for (let y = 0; y < samples; y++)
        for (let x = 0; x + step < samples; x++)
          sum += (moved[y * samples + x + step] - moved[y * samples + x]) ** 2;
      return (sum / (samples * (samples - step))) * ((2 * Math.PI) / 500) ** 2;
    });
    // Blocks of 40 frames are nearly independent: they are ten outer scales long.
    const blocks = Array.from({ length: 50 }, (_, b) => meanOf(sample.slice(40 * b, 40 * b + 40)).mean);
    const { mean, standardError } = meanOf(blocks);
    const expected = structureByQuadrature(step * spacingMm, turbulence);
    expect(standardError / expected).toBeLessThan(0.03);
    // One sky has its own frequencies of long waves, which scatter the structure function by 3 % from sky to sky.
    expectWithin(
      mean / expected,
      1,
      0.06 + (4 * standardError) / expected,
      'one draw of frequencies; chance',
    );
  });
});

describe('the stream', () => {
  const options = { ...air, samples: 16, spacingMm: 5 };
  const frame = (screen = preparePhaseScreen(options, randomStream(8)), travelMm = 0): Float64Array => {
    const out = new Float64Array(256);
    screen.opdInto(out, travelMm);
    return out;
  };

  test('decides the screen, whatever was looked at before', () => {
    const screen = preparePhaseScreen(options, randomStream(8));
    const later = frame(screen, 12_345.6);
    expect(frame(screen, -777)).not.toEqual(later);
    expect(frame(screen)).toEqual(frame());
    expect(frame(screen, 12_345.6)).toEqual(later);
    screen.renew(randomStream(9));
    expect(frame(screen)).not.toEqual(frame());
    screen.renew(randomStream(8));
    expect(frame(screen, 12_345.6)).toEqual(later);
  });

  test('leaves no mean, and gives the same path differences at every wavelength for the same air', () => {
    const opd = frame();
    expectWithin(opd.reduce((sum, value) => sum + value, 0) / 256, 0, 1e-10, 'rounding');
    // r0 grows as the power 6/5 of the wavelength.
    const red = { ...options, friedParameterMm: 100 * (750 / 500) ** 1.2, wavelengthNm: 750 };
    const same = frame(preparePhaseScreen(red, randomStream(8)));
    for (let k = 0; k < 256; k++) expectWithin(same[k], opd[k], 1e-9, 'rounding');
  });
});

test('a bad call says what is wrong', () => {
  const random = randomStream(1);
  const good = { ...air, samples: 16, spacingMm: 5 };
  expect(() => preparePhaseScreen({ ...good, samples: 3 }, random)).toThrow(/samples .* got 3/);
  expect(() => preparePhaseScreen({ ...good, spacingMm: 0 }, random)).toThrow(/spacingMm .* got 0/);
  expect(() => preparePhaseScreen({ ...good, friedParameterMm: -1 }, random)).toThrow(
    /friedParameterMm .* got -1/,
  );
  expect(() => preparePhaseScreen({ ...good, outerScaleMm: 0 }, random)).toThrow(/outerScaleMm .* got 0/);
  expect(() => preparePhaseScreen({ ...good, wavelengthNm: 0 }, random)).toThrow(/wavelengthNm .* got 0/);
  expect(() => preparePhaseScreen({ ...good, windAngleDeg: Number.NaN }, random)).toThrow(/windAngleDeg/);
  const screen = preparePhaseScreen(good, random);
  expect(() => screen.opdInto(new Float64Array(255))).toThrow(/256 values, got 255/);
  expect(() => screen.opdInto(new Float64Array(256), Infinity)).toThrow(/travelMm .* got Infinity/);
});
