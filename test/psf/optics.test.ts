import {
  airyFwhmUm,
  defocusBlur,
  depthOfFocusUm,
  fNumber,
  focusShiftFromRing,
  type Glass,
  glassFocusShiftUm,
  glassIndex,
  plateScaleArcsecPerPx,
} from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';

const ring = { focusShiftUm: 500, fNumber: 5, obstructionRatio: 0.35, wavelengthNm: 550 };

describe('defocusBlur', () => {
  test('focusShiftUm > 0 is a sensor beyond best focus; only edgeWaves carries the sign', () => {
    const beyond = defocusBlur(ring);
    const before = defocusBlur({ ...ring, focusShiftUm: -500 });
    expect(beyond.edgeWaves).toBeGreaterThan(0);
    expect(before).toEqual({ ...beyond, edgeWaves: -beyond.edgeWaves });
  });

  test('is nothing at focus', () => {
    expect(defocusBlur({ ...ring, focusShiftUm: 0 })).toEqual({
      outerDiameterUm: 0,
      innerDiameterUm: 0,
      exactOuterDiameterUm: 0,
      edgeWaves: 0,
    });
  });

  test('edgeWaves agrees with the path from the pupil edge to the sensor point on the axis', () => {
    // A sphere converging to focus at distance R behind the pupil, seen from the axis at R + dz. A point of
    // the wavefront at height h is R - sqrt(R^2 - h^2) ahead of the vertex; its way to the new point, against
    // that of the vertex:
    const apertureUm = 200_000;
    const focalUm = 1_000_000;
    const dz = 120;
    const h = apertureUm / 2;
    const sag = focalUm - Math.sqrt(focalUm * focalUm - h * h);
    const path = Math.sqrt(h * h + (focalUm + dz - sag) ** 2);
    const early = focalUm + dz - path; // > 0: the edge has the shorter way, its light arrives early
    const { edgeWaves } = defocusBlur({ ...ring, focusShiftUm: dz });
    expectWithin(edgeWaves / (early / 0.55), 1, 0.01, 'paraxial: 1 / (16 F^2) = 0.25 % at F/5, plus dz / f');
  });

  test('the exact cone is the marginal ray of sine 1 / 2F', () => {
    for (const f of [2, 4, 5, 10, 30]) {
      const { outerDiameterUm, exactOuterDiameterUm } = defocusBlur({ ...ring, fNumber: f });
      expectWithin(exactOuterDiameterUm, 1000 * Math.tan(Math.asin(1 / (2 * f))), 1e-10, 'rounding');
      expect(exactOuterDiameterUm).toBeGreaterThan(outerDiameterUm);
    }
  });

  test('a beam of F/0.51 is still one', () => {
    expectWithin(focusShiftFromRing({ outerDiameterUm: 100, fNumber: 0.51 }), 51, 1e-12, 'rounding');
  });

  test('focusShiftFromRing is its inverse, without the sign', () => {
    for (const focusShiftUm of [-320, 0, 0.1, 777]) {
      const { outerDiameterUm } = defocusBlur({ ...ring, focusShiftUm, fNumber: 6.3 });
      expectWithin(
        focusShiftFromRing({ outerDiameterUm, fNumber: 6.3 }),
        Math.abs(focusShiftUm),
        1e-12,
        'rounding',
      );
    }
  });

  test.each([
    [{ focusShiftUm: Number.NaN }, 'focusShiftUm must be a finite number, got NaN'],
    [{ fNumber: 0.5 }, 'fNumber must be > 0.5, got 0.5'],
    [{ fNumber: -5 }, 'fNumber must be a finite number > 0, got -5'],
    [{ obstructionRatio: 1 }, 'obstructionRatio must be in [0, 1), got 1'],
    [{ wavelengthNm: 0 }, 'wavelengthNm must be a finite number > 0, got 0'],
  ])('%o is refused', (wrong, message) => {
    expect(() => defocusBlur({ ...ring, ...wrong })).toThrow(new RangeError(message));
  });
});

describe('telescope', () => {
  test('fNumber is focal length over aperture', () => {
    expect(fNumber({ apertureMm: 200, focalLengthMm: 1000 })).toBe(5);
    expect(() => fNumber({ apertureMm: 0, focalLengthMm: 1000 })).toThrow(
      'apertureMm must be a finite number > 0, got 0',
    );
    expect(() => fNumber({ apertureMm: 200, focalLengthMm: -1 })).toThrow(
      'focalLengthMm must be a finite number > 0, got -1',
    );
  });

  test('plate scale is the small angle of one pixel', () => {
    // 206264.806 arcsec in a radian: 3.75 um at 1000 mm.
    expectWithin(
      plateScaleArcsecPerPx({ pixelSizeUm: 3.75, focalLengthMm: 1000 }),
      0.773493,
      1e-7,
      'digits given',
    );
    expect(() => plateScaleArcsecPerPx({ pixelSizeUm: 3.75, focalLengthMm: 0 })).toThrow(/focalLengthMm/);
  });

  test('the diffraction image grows with wavelength and F-number', () => {
    expectWithin(airyFwhmUm({ fNumber: 5, wavelengthNm: 550 }), 1.02899 * 0.55 * 5, 1e-4, 'digits given');
    expect(() => airyFwhmUm({ fNumber: 5, wavelengthNm: Number.NaN })).toThrow(/wavelengthNm/);
  });
});

describe('depthOfFocusUm', () => {
  const beam = { fNumber: 6, wavelengthNm: 500 };

  test("'quarter-wave' leaves a quarter of a wave at the edge", () => {
    const focusShiftUm = depthOfFocusUm({ criterion: 'quarter-wave', ...beam });
    expectWithin(defocusBlur({ ...ring, ...beam, focusShiftUm }).edgeWaves, 0.25, 1e-12, 'rounding');
  });

  test.each([0, 0.3, 0.6])(
    "'strehl-0.8' leaves (sin u / u)^2 = 0.8 at obstruction %d",
    (obstructionRatio) => {
      const focusShiftUm = depthOfFocusUm({ criterion: 'strehl-0.8', ...beam, obstructionRatio });
      const { edgeWaves } = defocusBlur({ ...beam, focusShiftUm, obstructionRatio });
      const u = Math.PI * edgeWaves * (1 - obstructionRatio ** 2);
      expectWithin((Math.sin(u) / u) ** 2, 0.8, 1e-12, 'rounding');
    },
  );

  test("'airy-disc' makes the ring as wide as the first dark ring of diffraction", () => {
    const focusShiftUm = depthOfFocusUm({ criterion: 'airy-disc', ...beam });
    const { outerDiameterUm } = defocusBlur({ ...ring, ...beam, focusShiftUm });
    expectWithin(outerDiameterUm, 2 * 1.21967 * 0.5 * 6, 1e-5, 'digits of 1.21967');
  });

  test('other criteria and bad beams are refused', () => {
    expect(() => depthOfFocusUm({ criterion: 'rayleigh' as never, ...beam })).toThrow(
      new TypeError('criterion must be one of quarter-wave, strehl-0.8, airy-disc, got "rayleigh"'),
    );
    expect(() => depthOfFocusUm({ criterion: 'strehl-0.8', ...beam, obstructionRatio: -0.1 })).toThrow(
      'obstructionRatio must be in [0, 1), got -0.1',
    );
  });
});

describe('glass', () => {
  test('the marginal shift is that of a ray refracted twice', () => {
    const t = 3000;
    const n = 1.52;
    for (const f of [2, 5, 20]) {
      // A ray aimed at the axis with slope u crosses the plate at the flatter slope of Snell's law, and is
      // displaced.
      const u = Math.asin(1 / (2 * f));
      const inside = Math.asin(Math.sin(u) / n);
      const shift = t - (t * Math.tan(inside)) / Math.tan(u);
      const ours = glassFocusShiftUm({ thicknessMm: 3, refractiveIndex: n, fNumber: f });
      expectWithin(ours, shift, 1e-9, 'rounding');
      expect(ours).toBeGreaterThan(glassFocusShiftUm({ thicknessMm: 3, refractiveIndex: n }));
    }
  });

  test('a plate of nothing moves nothing', () => {
    expect(glassFocusShiftUm({ thicknessMm: 0, refractiveIndex: 1.5, fNumber: 4 })).toBe(0);
    expect(glassFocusShiftUm({ thicknessMm: 2, refractiveIndex: 1, fNumber: 4 })).toBe(0);
  });

  test('blue light is bent more than red', () => {
    for (const glass of ['N-BK7', 'fused-silica'] as Glass[])
      expect(glassIndex(glass, 450)).toBeGreaterThan(glassIndex(glass, 650));
  });

  test('unknown glass, wavelengths beyond the formula and bad plates are refused', () => {
    expect(() => glassIndex('crown' as never, 500)).toThrow(
      new TypeError('glass must be one of N-BK7, fused-silica, got "crown"'),
    );
    expect(() => glassIndex('N-BK7', 200)).toThrow('wavelengthNm must be in [300, 2500], got 200');
    expect(() => glassFocusShiftUm({ thicknessMm: 2, refractiveIndex: 0.9 })).toThrow(
      'refractiveIndex must be >= 1, got 0.9',
    );
    expect(() => glassFocusShiftUm({ thicknessMm: -2, refractiveIndex: 1.5 })).toThrow(/thicknessMm/);
    expect(() => glassFocusShiftUm({ thicknessMm: 2, refractiveIndex: 1.5, fNumber: 0.4 })).toThrow(
      /fNumber/,
    );
  });
});
