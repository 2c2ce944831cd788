import {
  type BandName,
  bands,
  magnitudeError,
  skyElectronsPerPx,
  snrOfStar,
  starElectrons,
} from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';

const telescope = {
  band: 'V',
  apertureMm: 200,
  obstructionRatio: 0.35,
  throughput: 0.7,
  quantumEfficiency: 0.6,
  exposureS: 2,
} as const;
const star = { ...telescope, magnitude: 12 };

/** Ratio of the electrons of two stars. */
const ratio = (change: Partial<Parameters<typeof starElectrons>[0]>): number =>
  starElectrons({ ...star, ...change }) / starElectrons(star);

describe('starElectrons', () => {
  test.each([
    ['five magnitudes are a factor of 100', { magnitude: 17 }, 0.01],
    ['twice the aperture', { apertureMm: 400 }, 4],
    ['the obstruction takes its area', { obstructionRatio: 0 }, 1 / (1 - 0.35 ** 2)],
    ['throughput', { throughput: 0.35 }, 0.5],
    ['quantum efficiency', { quantumEfficiency: 0.9 }, 1.5],
    ['exposure', { exposureS: 3 }, 1.5],
    ['bandwidth', { bandwidthNm: 178 }, 2],
    [
      'one magnitude of extinction in 2 air masses of 0.5',
      { airmass: 2, extinctionMagPerAirmass: 0.5 },
      10 ** -0.4,
    ],
    ['no extinction unless it is given', { airmass: 3 }, 1],
    ['extinction of one airmass unless that is given', { extinctionMagPerAirmass: 0.5 }, 10 ** -0.2],
    ['an exposure of nothing', { exposureS: 0 }, 0],
  ])('%s', (_, change, expected) => {
    expectWithin(ratio(change), expected, 1e-12 * Math.max(1, expected), 'rounding');
  });

  test('the example of its description', () => {
    const electrons = starElectrons({ ...star, band: 'clear' });
    // By hand: 996.2 x 3000 A x pi 10^2 (1 - 0.35^2) cm^2 x 0.7 x 0.6 x 2 s x 10^-4.8
    expectWithin(
      electrons,
      996.2 * 3000 * Math.PI * 100 * (1 - 0.1225) * 0.84 * 10 ** -4.8,
      1,
      '996.2 has 4 digits',
    );
    expect(Math.round(electrons / 1000)).toBe(11);
  });

  test.each([
    [{ band: 'L' as BandName }, TypeError, 'band must be one of U, B, V, R, I, clear, got "L"'],
    [{ magnitude: Infinity }, RangeError, 'magnitude must be a finite number, got Infinity'],
    [{ apertureMm: 0 }, RangeError, 'apertureMm must be a finite number > 0, got 0'],
    [{ obstructionRatio: 1.2 }, RangeError, 'obstructionRatio must be in [0, 1), got 1.2'],
    [{ throughput: 70 }, RangeError, 'throughput must be in [0, 1], got 70'],
    [{ quantumEfficiency: -0.1 }, RangeError, 'quantumEfficiency must be in [0, 1], got -0.1'],
    [{ exposureS: -1 }, RangeError, 'exposureS must be a finite number >= 0, got -1'],
    [{ bandwidthNm: 0 }, RangeError, 'bandwidthNm must be a finite number > 0, got 0'],
    [{ airmass: 0.9 }, RangeError, 'airmass must be in [1, 40], got 0.9'],
    [
      { extinctionMagPerAirmass: -0.2 },
      RangeError,
      'extinctionMagPerAirmass must be a finite number >= 0, got -0.2',
    ],
  ])('%o is refused', (wrong, error, message) => {
    expect(() => starElectrons({ ...star, ...wrong })).toThrow(new error(message));
  });
});

describe('the clear band', () => {
  /**
   * Mean photon density from 400 to `toNm` over that at V, for colors given as magnitude less V in U, B, V,
   * R, I.
   */
  function meanOverV(colors: readonly number[], toNm: number): number {
    const nodes = (['U', 'B', 'V', 'R', 'I'] as const).map((name, i) => ({
      x: bands[name].wavelengthNm,
      y: Math.log(bands[name].photonsPerSCm2Nm) - 0.4 * Math.LN10 * colors[i],
    }));
    let sum = 0;
    for (let x = 400; x <= toNm; x++) {
      // Straight lines of the logarithm between the bands; the last one goes on.
      const next = nodes.findIndex((node) => node.x > x);
      const i = next < 0 ? 3 : next - 1;
      const { x: x0, y: y0 } = nodes[i];
      const { x: x1, y: y1 } = nodes[i + 1];
      sum += Math.exp(y0 + ((y1 - y0) * (x - x0)) / (x1 - x0));
    }
    return sum / (toNm - 399) / bands.V.photonsPerSCm2Nm;
  }

  // Colors of main-sequence stars, from memory: U-V, B-V, 0, R-V, I-V.
  test.each([
    ['A0', [0, 0, 0, 0, 0], 0.97, 0.77],
    ['G2', [0.77, 0.64, 0, -0.36, -0.7], 0.9, 0.89],
    ['K0', [1.27, 0.82, 0, -0.45, -0.86], 0.89, 0.94],
    ['K5', [2.23, 1.15, 0, -0.68, -1.25], 0.93, 1.13],
    ['M0', [2.62, 1.4, 0, -0.9, -1.7], 1.01, 1.48],
  ])('is as far from a star of type %s as its description says', (_, colors, to700, to900) => {
    expectWithin(meanOverV(colors, 700), to700, 0.006, 'digits given');
    expectWithin(meanOverV(colors, 900), to900, 0.006, 'digits given');
  });
});

describe('skyElectronsPerPx', () => {
  const sky = { ...telescope, skyMagPerArcsec2: 20, pixelScaleArcsec: 1.5 };

  test('is a star of that magnitude on each square arcsecond of the pixel', () => {
    const perArcsec2 = starElectrons({ ...telescope, magnitude: 20 });
    expectWithin(skyElectronsPerPx(sky) / perArcsec2, 2.25, 1e-12, 'rounding');
  });

  test('bad calls are refused', () => {
    expect(() => skyElectronsPerPx({ ...sky, pixelScaleArcsec: 0 })).toThrow(
      'pixelScaleArcsec must be a finite number > 0, got 0',
    );
    expect(() => skyElectronsPerPx({ ...sky, skyMagPerArcsec2: Number.NaN })).toThrow(/skyMagPerArcsec2/);
  });

  test.each([-1, 1])('a magnitude ends at 100 times %d', (sign) => {
    expect(skyElectronsPerPx({ ...sky, skyMagPerArcsec2: 100 * sign })).toBeGreaterThan(0);
    expect(() => skyElectronsPerPx({ ...sky, skyMagPerArcsec2: 100.5 * sign })).toThrow(/-100.*100/);
    expect(starElectrons({ ...star, magnitude: 100 * sign })).toBeGreaterThan(0);
    expect(() => starElectrons({ ...star, magnitude: 100.5 * sign })).toThrow(/-100.*100/);
  });
});

describe('snrOfStar', () => {
  const noisy = { pixels: 40, skyEPerPx: 30, darkEPerPx: 2, readNoiseE: 4 };

  test('is sqrt(N) for a bright star', () => {
    expectWithin(snrOfStar({ starE: 1e8, ...noisy }), 1e4, 0.1, 'background 40 x 48 of 1e8: 1e-5');
  });

  test('is proportional to a faint star', () => {
    const faint = snrOfStar({ starE: 0.02, ...noisy }) / snrOfStar({ starE: 0.01, ...noisy });
    expectWithin(faint, 2, 1e-5, 'star 0.02 against a background of 1920 electrons^2');
    expect(snrOfStar({ starE: 0, pixels: 9, readNoiseE: 0 })).toBe(0);
  });

  test('takes the background to be known exactly unless its pixels are given', () => {
    const known = snrOfStar({ starE: 500, ...noisy });
    expect(snrOfStar({ starE: 500, ...noisy, backgroundPixels: Infinity })).toBe(known);
    // As many pixels for the background as for the star double its noise.
    const twice = 500 / Math.sqrt(500 + 2 * 40 * 48);
    expectWithin(snrOfStar({ starE: 500, ...noisy, backgroundPixels: 40 }), twice, 1e-12, 'rounding');
  });

  test('bad calls are refused', () => {
    expect(() => snrOfStar({ starE: -1, ...noisy })).toThrow('starE must be a finite number >= 0, got -1');
    expect(() => snrOfStar({ starE: 1, ...noisy, pixels: 0 })).toThrow(
      'pixels must be a finite number > 0, got 0',
    );
    expect(() => snrOfStar({ starE: 1, ...noisy, backgroundPixels: Number.NaN })).toThrow(/backgroundPixels/);
    expect(() => magnitudeError(0)).toThrow('snr must be a finite number > 0, got 0');
  });
});
