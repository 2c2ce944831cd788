/** Focus shift by a warming tube: one mirror, two mirrors, and the kelvins that use up the depth of focus. */
import { defocusBlur, depthOfFocusUm } from '@holdfast/psf';
import { thermalFocusUmPerK } from '@holdfast/sim';
import { describe, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';
import { checkPublished } from './published.ts';

describe('one mirror: focal length times the expansion of the tube', () => {
  const source =
    'textbook: dz = L a dT, quarter wave at +-2 lambda F^2 and 550 nm; expansions near 20 C from material tables, ' +
    'stainless steel and carbon fibre from memory';
  // Tube, expansion 1e-6/K, L mm, F -> um per K, ring um per K, K to a quarter of a wave
  for (const [tube, expansion, focalLengthMm, ratio, umPerK, ringUmPerK, quarterWaveK] of [
    ['aluminium 6061', 23.6, 1000, 5, 23.6, 4.72, 1.165],
    ['aluminium 6061', 23.6, 600, 4, 14.16, 3.54, 1.243],
    ['aluminium 6061', 23.6, 2000, 10, 47.2, 4.72, 2.331],
    ['steel', 11.7, 1000, 5, 11.7, 2.34, 2.35],
    ['stainless steel 304', 17.3, 1000, 5, 17.3, 3.46, 1.59],
    ['Invar', 1.2, 1000, 5, 1.2, 0.24, 22.92],
    ['carbon fibre', 0.5, 1000, 5, 0.5, 0.1, 55.0],
  ] as const) {
    const label = `${tube}, ${focalLengthMm} mm F/${ratio}`;
    const rate = () => thermalFocusUmPerK({ focalLengthMm, tubeExpansionPerK: expansion * 1e-6 });
    checkPublished(
      {
        what: `focus shift, um/K (${label})`,
        value: umPerK,
        tolerance: 0.0051,
        source,
        note: 'digits printed',
      },
      rate,
    );
    checkPublished(
      {
        what: `diameter of the ring, um/K (${label})`,
        value: ringUmPerK,
        tolerance: 0.0051,
        source,
        note: 'digits printed',
      },
      () =>
        defocusBlur({ focusShiftUm: rate(), fNumber: ratio, obstructionRatio: 0, wavelengthNm: 550 })
          .outerDiameterUm,
    );
    checkPublished(
      {
        what: `K to a quarter of a wave (${label})`,
        value: quarterWaveK,
        tolerance: quarterWaveK > 10 ? 0.0051 * 10 : 0.00051,
        source,
        note: 'digits printed',
      },
      () => depthOfFocusUm({ criterion: 'quarter-wave', fNumber: ratio, wavelengthNm: 550 }) / rate(),
    );
  }
});

describe('two mirrors: m^2 + 1 times the change of their distance', () => {
  const source =
    'Wilson, Reflecting Telescope Optics I, from memory: (m^2 + 1) ds against the first mirror; confirmed by ray trace';
  for (const [magnification, factor] of [
    [4, 17],
    [3, 10],
  ] as const)
    checkPublished(
      {
        what: `focus shift over change of the distance, magnification ${magnification}`,
        value: factor,
        tolerance: 1e-9,
        source,
        note: 'rounding',
      },
      () =>
        thermalFocusUmPerK({
          focalLengthMm: 2000,
          tubeExpansionPerK: 20e-6,
          secondary: { magnification, separationMm: 300 },
        }) /
        (300 * 1000 * 20e-6),
    );

  test('and it moves the sensor beyond focus, by the thin-mirror equation', () => {
    // A first mirror of 500 mm, the second one 400 mm before it: 1/p' = 1/p - 1/|f2| with p = f1 - s and
    // magnification p'/p = 4.
    const [f1, separationMm, magnification] = [500, 400, 4];
    const p = f1 - separationMm;
    const f2 = 1 / (1 / p - 1 / (magnification * p));
    /** Place of the image behind the first mirror, mm. */
    const imageAt = (s: number) => 1 / (1 / (f1 - s) - 1 / f2) - s;
    const ds = 1e-4;
    const nearer = -(imageAt(separationMm + ds) - imageAt(separationMm - ds)) / (2 * ds);
    expectWithin(nearer, magnification ** 2 + 1, 1e-4, 'central difference');
    const umPerK = thermalFocusUmPerK({
      focalLengthMm: 2000,
      tubeExpansionPerK: 1e-5,
      secondary: { magnification, separationMm, backFocusMm: imageAt(separationMm) },
    });
    // The sensor goes away from the first mirror with the part behind it.
    expectWithin(umPerK, 1e-2 * (nearer * separationMm + imageAt(separationMm)), 1e-3, 'central difference');
  });
});
