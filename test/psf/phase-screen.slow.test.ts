/** Phase screens: the structure function, the flow, and what the stream decides. */
import { randomStream } from '@holdfast/psf';
import { phaseStructure, preparePhaseScreen } from '@holdfast/psf/internal';
import { describe, expect, test } from 'vitest';
import { prepareParts } from '../../packages/psf/src/air/phase-screen.ts';
import {
  phasePower,
  spectrumConstant,
  structureConstant,
  type Turbulence,
} from '../../packages/psf/src/air/turbulence.ts';
import { gaussLegendre } from '../../packages/psf/src/numerics/quadrature.ts';
import { expectWithin, expectWithinSigmas } from '../expect-within.ts';
import { besselJ } from './bessel.ts';

const apertureMm = 256;
const air: Turbulence = { friedParameterMm: 100 };
const seeing = { friedParameterMm: 100, wavelengthNm: 500 };

/**
 * D(r) = 4 pi * integral of k W(k) (1 - J0(2 pi k r)) dk: in the logarithm of k up to the first wave, then in
 * k.
 */
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

/** The structure function that the method has, all chance but the placing of its waves averaged out. */
function structureOfMethod(samples: number, turbulence: Turbulence, separations: number[], skies: number) {
  const spacingMm = apertureMm / samples;
  const { tile, longWaves } = prepareParts({ samples, spacingMm }, turbulence, randomStream(1));
  const size = Math.sqrt(tile.power.length);
  const side = size * spacingMm;
  const unlike = (kx: number, ky: number, x: number, y: number): number =>
    4 * Math.sin(Math.PI * (kx * x + ky * y)) ** 2;
  const found = separations.map(() => [] as number[]);
  for (let sky = 0; sky < skies; sky++) {
    longWaves.renew(randomStream('structure', sky));
    tile.renew(randomStream('structure', sky));
    separations.forEach((r, n) => {
      const [x, y] = [0.8 * r, 0.6 * r];
      let sum = (longWaves.slopeSigma * r) ** 2;
      for (let w = 0; w < longWaves.kx.length; w++)
        sum += longWaves.amplitude[w] ** 2 * unlike(longWaves.kx[w], longWaves.ky[w], x, y);
      for (let j = 0, k = 0; j < size; j++)
        for (let i = 0; i < size; i++, k++) {
          const kx = ((i < size / 2 ? i : i - size) + tile.shift.x) / side;
          const ky = ((j < size / 2 ? j : j - size) + tile.shift.y) / side;
          sum += tile.power[k] * unlike(kx, ky, x, y);
        }
      found[n].push(sum);
    });
  }
  return found.map(meanOf);
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
  // Twice the variance of the waves shorter than two samples, outside the square of frequencies that the
  // samples carry, at separations of several samples: 2 c * 8 * integral over an eighth of a turn and k, with
  // W of Kolmogorov.
  const eighth = gaussLegendre(8);
  let shadow = 0;
  for (let n = 0; n < 8; n++)
    shadow +=
      ((eighth.weights[n] * Math.PI) / 8) * Math.cos(((1 + eighth.nodes[n]) * Math.PI) / 8) ** (5 / 3);
  const missingAt = (spacingMm: number): number =>
    2 * spectrumConstant * 8 * 0.6 * shadow * ((2 * spacingMm) / air.friedParameterMm) ** (5 / 3);
  test('lacks twice 0.23 (spacing / r0)^(5/3)', () => {
    expectWithin(missingAt(100), 2 * 0.23, 0.005, 'rounding of the stated value');
  });

  test.each([
    [32, Infinity, 500],
    [32, 2000, 500],
    [32, 300, 500],
    [64, Infinity, 120],
    [64, 60, 30],
  ])(
    'with %d samples across and an outer scale of %d mm lacks nothing else',
    (samples, outerScaleMm, skies) => {
      const turbulence = { ...air, outerScaleMm };
      const separations = [0.1, 0.5, 1].map((part) => part * apertureMm);
      const found = structureOfMethod(samples, turbulence, separations, skies);
      const missing = missingAt(apertureMm / samples);
      for (let n = 0; n < 3; n++) {
        const expected = structureByQuadrature(separations[n], turbulence);
        const sigma = found[n].standardError;
        expect(sigma / expected).toBeLessThan(0.005);
        expectWithin(
          found[n].mean,
          expected - missing,
          0.04 * missing + 4 * sigma,
          'the last wave of the lattice; chance',
        );
      }
    },
  );

  test('is what the drawn path differences have', () => {
    const samples = 32;
    const screen = preparePhaseScreen({ seeing, samples, spacingMm: apertureMm / samples }, randomStream(3));
    const opd = new Float64Array(samples * samples);
    const steps = [3, 16, 31];
    const sample: number[][] = steps.map(() => []);
    for (let sky = 0; sky < 1200; sky++) {
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
  const options = { seeing, samples, spacingMm };
  const still = new Float64Array(samples * samples);
  const moved = new Float64Array(samples * samples);

  /**
   * Mean square of `moved` against `still` carried on by whole samples, rad^2, less the change of the piston.
   */
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
  ])('goes toward %d degrees', (windAngleDeg, dx, dy) => {
    const screen = preparePhaseScreen({ ...options, windAngleDeg }, randomStream(4));
    screen.opdInto(still, 1000);
    screen.opdInto(moved, 1000 + 2 * spacingMm);
    expect(unlikeness(2 * dx, 2 * dy)).toBeLessThan(0.1 * unlikeness(0, 0));
    expect(unlikeness(-2 * dx, -2 * dy)).toBeGreaterThan(unlikeness(0, 0));
  });

  test('boils as slowly as stated', () => {
    // Over a travel d old amplitudes keep cos(pi d / 2 hop): the variance of the change of a wave is 2 (1 -
    // cos) of its own. The tile is renewed over half its side. Only its part is compared: the long waves
    // hardly change in a window.
    const screen = preparePhaseScreen(options, randomStream(5));
    const { tile } = prepareParts(options, air, randomStream(5));
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

  test.each([0.25, 0.5, 1.5])('goes by %d of a sample as by whole ones', (step) => {
    // Mean square of the change while the screen moves by a part of a sample, the change of the piston taken
    // off: 2 (1 - cos(2 pi kx d)) of each wave, which the boiling of the tile makes a little more.
    const screen = preparePhaseScreen(options, randomStream(5));
    const { tile, longWaves } = prepareParts(options, air, randomStream(5));
    const size = Math.sqrt(tile.power.length);
    const travel = step * spacingMm;
    const keep = Math.cos((Math.PI * step) / size);
    const meanOver = (k: number): number => {
      const x = Math.PI * k * samples * spacingMm;
      return Math.abs(x) < 1e-6 ? 1 : Math.sin(x) / x;
    };
    const changeOf = (kx: number, ky: number, like: number): number =>
      2 * (1 - like * Math.cos(2 * Math.PI * kx * travel)) * (1 - (meanOver(kx) * meanOver(ky)) ** 2);
    let expected = 0;
    const skies = 200;
    const sample = Array.from({ length: skies }, (_, sky) => {
      screen.renew(randomStream('part', sky));
      tile.renew(randomStream('part', sky));
      longWaves.renew(randomStream('part', sky));
      for (let j = 0, k = 0; j < size; j++)
        for (let i = 0; i < size; i++, k++) {
          const kx = ((i < size / 2 ? i : i - size) + tile.shift.x) / (size * spacingMm);
          const ky = ((j < size / 2 ? j : j - size) + tile.shift.y) / (size * spacingMm);
          expected += (tile.power[k] * changeOf(kx, ky, keep)) / skies;
        }
      for (let w = 0; w < longWaves.kx.length; w++)
        expected += (longWaves.amplitude[w] ** 2 * changeOf(longWaves.kx[w], longWaves.ky[w], 1)) / skies;
      screen.opdInto(still, 40);
      screen.opdInto(moved, 40 + travel);
      return unlikeness(0, 0);
    });
    const { mean, standardError } = meanOf(sample);
    expect(standardError / expected).toBeLessThan(0.03);
    expectWithin(mean / expected, 1, 0.01 + (4 * standardError) / expected, 'boiling of long waves; chance');
  });

  test('does not come back after the side of the tile', () => {
    const screen = preparePhaseScreen(
      { ...options, seeing: { ...seeing, outerScaleMm: 500 } },
      randomStream(6),
    );
    const side = 64 * spacingMm;
    for (const travel of [side, 2 * side, 16 * side]) {
      const sample = Array.from({ length: 150 }, (_, sky) => {
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
    const outerScaleMm = 1000;
    const run = preparePhaseScreen({ ...options, seeing: { ...seeing, outerScaleMm } }, randomStream(7));
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
    const expected = structureByQuadrature(step * spacingMm, { ...air, outerScaleMm });
    expect(standardError / expected).toBeLessThan(0.03);
    // One sky has its own frequencies of long waves, which scatter the structure function by 3 % from sky to
    // sky.
    expectWithin(
      mean / expected,
      1,
      0.06 + (4 * standardError) / expected,
      'one draw of frequencies; chance',
    );
  });
});

describe('the stream', () => {
  const options = { seeing, samples: 16, spacingMm: 5 };
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
    const red = { friedParameterMm: 100 * (750 / 500) ** 1.2, wavelengthNm: 750 };
    const same = frame(preparePhaseScreen({ ...options, seeing: red }, randomStream(8)));
    for (let k = 0; k < 256; k++) expectWithin(same[k], opd[k], 1e-9, 'rounding');
  });
});

test('a bad call says what is wrong', () => {
  const random = randomStream(1);
  const good = { seeing, samples: 16, spacingMm: 5 };
  expect(() => preparePhaseScreen({ ...good, samples: 3 }, random)).toThrow(/samples .* got 3/);
  expect(() => preparePhaseScreen({ ...good, spacingMm: 0 }, random)).toThrow(/spacingMm .* got 0/);
  const rough = { ...good, seeing: { friedParameterMm: -1 } };
  expect(() => preparePhaseScreen(rough, random)).toThrow(/friedParameterMm .* got -1/);
  expect(() => preparePhaseScreen({ ...good, windAngleDeg: Number.NaN }, random)).toThrow(/windAngleDeg/);
  const screen = preparePhaseScreen(good, random);
  expect(() => screen.opdInto(new Float64Array(255))).toThrow(/256 values, got 255/);
  expect(() => screen.opdInto(new Float64Array(256), Infinity)).toThrow(/travelMm .* got Infinity/);
});
