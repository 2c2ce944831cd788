/**
 * Two spherical mirrors behind a corrector plate: the formula against exact rays through the same mirrors.
 */
import { offAxisAberrations } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';
import { edgeComa, focusShifts, type Telescope, trace } from '../ray-trace.ts';

/**
 * A telescope whose rays all pass a thin plate in front of the primary, which bends each zone by what brings
 * it to the focus on the axis. Its bend is found by exact rays, so nothing here knows an aberration.
 */
function catadioptric(
  focalLengthMm: number,
  apertureMm: number,
  m: number,
  b: number,
  corrector: number,
): Telescope {
  const f1 = focalLengthMm / m;
  const k = (1 + b) / (m + 1);
  return {
    mirrors: [
      { z: 0, curvature: 1 / (2 * f1), conic: 0 },
      { z: f1 * (1 - k), curvature: (m - 1) / (2 * f1 * m * k), conic: 0 },
    ],
    apertureMm,
    focalLengthMm,
    focusZ: -b * f1,
    lightZ: -1,
    plateZ: corrector * f1,
  };
}

describe('two spherical mirrors behind a corrector plate', () => {
  for (const [m, b, corrector] of [
    [5, 0.4, 0.76],
    [5, 0.25, 0.9],
    [4, 0.3, 0.5],
    [6.5, 0.2, 1.4],
  ] as const)
    test(`m ${m}, back focus ${b} f1, plate at ${corrector} f1`, () => {
      const [focalLengthMm, apertureMm, angle] = [2000, 50, 1e-3];
      const telescope = catadioptric(focalLengthMm, apertureMm, m, b, corrector);
      expect(Math.abs(trace(telescope, 0, 1, 0).at.x)).toBeGreaterThan(0);
      const traced = edgeComa(telescope, angle);
      const shifts = focusShifts(telescope, angle);
      const got = offAxisAberrations({
        design: 'catadioptric',
        apertureMm,
        focalLengthMm,
        primaryFNumber: focalLengthMm / apertureMm / m,
        backFocusMm: (b * focalLengthMm) / m,
        correctorMm: (corrector * focalLengthMm) / m,
        offAxisMm: focalLengthMm * angle,
      });
      const fifth = 'fifth order: first mirrors of F/6 to F/10';
      const allowed = 0.004 * Math.abs(got.tangentialComaUm);
      expectWithin(got.sagittalComaUm, 1000 * traced.sagittal, allowed / 3, fifth);
      expectWithin(got.tangentialComaUm, 1000 * traced.tangential, allowed, fifth);
      const why = 'of 2 µm: the next order in the field angle, and bundles of 2e-3 apertures';
      expectWithin(got.tangentialFocusShiftUm, 1000 * shifts.tangential, 0.01, why);
      expectWithin(got.sagittalFocusShiftUm, 1000 * shifts.sagittal, 0.01, why);
    });
});
