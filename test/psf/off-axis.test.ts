/**
 * Off-axis aberrations by design against exact rays through the mirrors, and as a wavefront against the spots
 * of those rays.
 */
import { lightCentroid, type OffAxisOptions, offAxisAberrations } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';
import {
  cassegrain,
  centroidOffset,
  edgeComa,
  focusShifts,
  landsAt,
  paraboloid,
  type Telescope,
  trace,
} from '../ray-trace.ts';

interface Case {
  readonly title: string;
  readonly telescope: Telescope;
  readonly options: OffAxisOptions;
}

/**
 * The designs at one F-number, focal length 2000 mm, star at a small angle, so that what is left is the
 * aperture's own.
 */
function designs(fNumber: number, offAxisMm: number): Case[] {
  const focalLengthMm = 2000;
  const apertureMm = focalLengthMm / fNumber;
  const common = { apertureMm, focalLengthMm, offAxisMm };
  const single: Case = {
    title: `paraboloid F/${fNumber}`,
    telescope: paraboloid(apertureMm, focalLengthMm),
    options: { design: 'paraboloid', ...common },
  };
  const pairs = (['classical-cassegrain', 'ritchey-chretien'] as const).flatMap((design) =>
    [
      [4, 0.25],
      [3, 0.2],
      [2.5, -0.1],
    ].map(
      ([m, beta]): Case => ({
        title: `${design} F/${fNumber}, m ${m}, back focus ${beta} f1`,
        telescope: cassegrain(design, { apertureMm, focalLengthMm, m, beta }),
        options: {
          design,
          ...common,
          secondaryMagnification: m,
          backFocusMm: (beta * focalLengthMm) / m,
        },
      }),
    ),
  );
  return [single, ...pairs];
}

describe('the traced telescopes are what they are called', () => {
  for (const { title, telescope } of designs(8, 2))
    test(title, () => {
      const edge = landsAt(trace(telescope, 0, 1, 0), telescope.focusZ);
      // both Ritchey-Chretien conics are those without third-order spherical aberration: fifth order is left
      expectWithin(
        edge.x,
        0,
        title.startsWith('ritchey') ? 2e-4 : 1e-11,
        'mm: no spherical aberration on the axis',
      );
      const near = landsAt(trace(telescope, 1e-6, 0, 0), telescope.focusZ);
      expectWithin(near.x / 1e-6, telescope.focalLengthMm, 1e-5, 'focal length: rounding over 1e-6 rad');
    });
});

describe('coma', () => {
  // What the formulas leave out is fifth order. Over the third order of a paraboloid it is some c / F^2:
  // traced here, c = 0.08 to 0.15 with a parabolic first mirror, 0.34 to 0.68 with the two hyperboloids that
  // have no third-order coma.
  for (const fNumber of [20, 5])
    for (const { title, telescope, options } of designs(fNumber, 2))
      test(title, () => {
        const traced = edgeComa(telescope, 1e-3);
        const got = offAxisAberrations(options);
        const paraboloidUm = 2000 / (16 * fNumber * fNumber);
        const allowed = ((title.startsWith('ritchey') ? 0.7 : 0.15) / fNumber ** 2) * paraboloidUm;
        expectWithin(got.sagittalComaUm, 1000 * traced.sagittal, allowed, 'fifth order');
        expectWithin(got.tangentialComaUm, 1000 * traced.tangential, 3 * allowed, 'fifth order');
      });
  test('moves the center of mass by the sagittal coma times 1 + obstruction^2', () => {
    for (const { telescope, options } of designs(20, 2).filter(({ title }) => !title.startsWith('ritchey')))
      for (const obstructionRatio of [0, 0.3, 0.5]) {
        const offset = 1000 * centroidOffset(telescope, 1e-3, obstructionRatio);
        const got = offAxisAberrations(options).sagittalComaUm * (1 + obstructionRatio ** 2);
        expectWithin(offset, got, 4e-4 * got, 'fifth order at F/20, and 40 zones');
      }
  });
});

describe('focus shifts', () => {
  for (const { title, telescope, options } of designs(20, 2))
    test(title, () => {
      const traced = focusShifts(telescope, 1e-3);
      const got = offAxisAberrations(options);
      const why = 'of 2 µm: the next order in the field angle, and bundles of 2e-3 apertures';
      expectWithin(traced.height, options.offAxisMm, 1e-5, 'mm: f tan(angle), and distortion');
      expectWithin(got.tangentialFocusShiftUm, 1000 * traced.tangential, 2e-4 * 20, why);
      expectWithin(got.sagittalFocusShiftUm, 1000 * traced.sagittal, 2e-4 * 20, why);
      expectWithin(
        got.medianFocusShiftUm,
        (got.tangentialFocusShiftUm + got.sagittalFocusShiftUm) / 2,
        1e-12,
        'by definition',
      );
      expectWithin(
        got.astigmatismUm,
        Math.abs(got.tangentialFocusShiftUm - got.sagittalFocusShiftUm) / (2 * 20),
        1e-12,
        'half-way between two line images a cone of F/20 is as wide as half their distance over F',
      );
    });
});

describe('as a wavefront', () => {
  // Spots of exact rays from the chief ray, a uniform pupil of 0.3 obstruction, star 12 mm off axis; sensor
  // on the focal plane.
  const obstructionRatio = 0.3;
  function tracedMoments(telescope: Telescope, fieldAngle: number): { x: number; xx: number; yy: number } {
    const chief = landsAt(trace(telescope, fieldAngle, 0, 0), telescope.focusZ);
    const spots = Array.from({ length: 60 * 60 }, (_, n) => {
      const rho = Math.sqrt(0.09 + ((Math.floor(n / 60) + 0.5) / 60) * 0.91);
      const phi = (2 * Math.PI * ((n % 60) + 0.5)) / 60;
      const spot = landsAt(
        trace(telescope, fieldAngle, rho * Math.cos(phi), rho * Math.sin(phi)),
        telescope.focusZ,
      );
      return { x: 1000 * (spot.x - chief.x), y: 1000 * spot.y };
    });
    const mean = (value: (spot: { x: number; y: number }) => number): number =>
      spots.reduce((sum, spot) => sum + value(spot), 0) / spots.length;
    const x = mean((spot) => spot.x);
    return { x, xx: mean((spot) => (spot.x - x) ** 2), yy: mean((spot) => spot.y ** 2) };
  }
  for (const { title, telescope, options } of designs(10, 12))
    test(`${title}: moments of the spots`, () => {
      const traced = tracedMoments(telescope, 12 / 2000);
      const { seidel } = offAxisAberrations(options);
      const got = lightCentroid({
        pupil: { obstructionRatio },
        wavefront: { seidelNm: seidel },
        fNumber: 10,
      });
      const size = Math.sqrt(traced.xx);
      expectWithin(got.xUm, traced.x, 0.01 * size, 'fifth order: 0.1 % in coma and some in astigmatism');
      expectWithin(got.yUm, 0, 1e-9, 'symmetry');
      expectWithin(Math.sqrt(got.xxUm2), size, 0.01 * size, 'fifth order');
      expectWithin(Math.sqrt(got.yyUm2), Math.sqrt(traced.yy), 0.01 * size, 'fifth order');
    });

  test('the tail points away from the axis, in whatever direction the star lies', () => {
    const options = { design: 'paraboloid', apertureMm: 200, focalLengthMm: 1000, offAxisMm: 10 } as const;
    for (const angleDeg of [0, 90, 200]) {
      const { seidel, sagittalComaUm } = offAxisAberrations({ ...options, angleDeg });
      const { xUm, yUm } = lightCentroid({
        pupil: { obstructionRatio: 0.4 },
        wavefront: { seidelNm: seidel },
        fNumber: 5,
      });
      const length = sagittalComaUm * 1.16;
      expectWithin(xUm, length * Math.cos((angleDeg * Math.PI) / 180), 1e-9, 'rounding');
      expectWithin(yUm, length * Math.sin((angleDeg * Math.PI) / 180), 1e-9, 'rounding');
    }
  });

  test('at its tangential focus a star without coma is a line across, at its sagittal focus one along, in the middle round', () => {
    const options = {
      design: 'ritchey-chretien',
      apertureMm: 250,
      focalLengthMm: 2000,
      primaryFNumber: 2.5,
      backFocusMm: 150,
      offAxisMm: 15,
    } as const;
    const got = offAxisAberrations(options);
    const moments = (shiftUm: number): { xxUm2: number; yyUm2: number } =>
      lightCentroid({
        pupil: { obstructionRatio: 0.4 },
        // the sensor is moved back by as much as it lies beyond that focus
        wavefront: { focusShiftUm: -shiftUm, seidelNm: got.seidel },
        fNumber: 8,
      });
    const tangential = moments(got.tangentialFocusShiftUm);
    const sagittal = moments(got.sagittalFocusShiftUm);
    const middle = moments(got.medianFocusShiftUm);
    expectWithin(tangential.xxUm2, 0, 1e-9, 'um^2: rounding');
    expectWithin(sagittal.yyUm2, 0, 1e-9, 'um^2: rounding');
    expectWithin(tangential.yyUm2, sagittal.xxUm2, 1e-9, 'um^2: rounding');
    // a disc of diameter d with a hole has the mean square d^2 (1 + obstruction^2) / 16 along each axis
    expectWithin(middle.xxUm2, (got.astigmatismUm ** 2 * 1.16) / 16, 1e-9, 'um^2: rounding');
    expectWithin(middle.yyUm2, middle.xxUm2, 1e-9, 'um^2: rounding');
  });
});

describe('a telescope of known values', () => {
  test('has them at that distance; coma goes with the distance, focus shifts with its square', () => {
    const known = {
      offAxisMm: 12,
      sagittalComaUm: 3,
      tangentialFocusShiftUm: 80,
      sagittalFocusShiftUm: -20,
    };
    const at = (offAxisMm: number) =>
      offAxisAberrations({ design: 'corrected', apertureMm: 100, focalLengthMm: 500, offAxisMm, known });
    expect(at(12)).toMatchObject({
      sagittalComaUm: 3,
      tangentialComaUm: 9,
      tangentialFocusShiftUm: 80,
      sagittalFocusShiftUm: -20,
      medianFocusShiftUm: 30,
      astigmatismUm: 10,
    });
    expect(at(6)).toMatchObject({ sagittalComaUm: 1.5, tangentialFocusShiftUm: 20, astigmatismUm: 2.5 });
  });
  test('of which nothing is given has no aberrations', () => {
    const got = offAxisAberrations({
      design: 'corrected',
      apertureMm: 100,
      focalLengthMm: 500,
      offAxisMm: 9,
      known: { offAxisMm: 1 },
    });
    expect(Object.values(got).filter((value) => typeof value === 'number' && value !== 0)).toEqual([]);
  });
});

test('arcseconds are micrometers seen from the focal length', () => {
  const found = offAxisAberrations({
    design: 'classical-cassegrain',
    apertureMm: 200,
    focalLengthMm: 1600,
    offAxisMm: 12,
    primaryFNumber: 3,
    backFocusMm: 200,
  });
  // 206265 arcsec per radian
  const perUm = 206264.806 / 1.6e6;
  expectWithin(found.sagittalComaArcsec, found.sagittalComaUm * perUm, 1e-6, 'digits of 206265');
  expectWithin(found.tangentialComaArcsec, found.tangentialComaUm * perUm, 1e-6, 'digits of 206265');
  expectWithin(found.astigmatismArcsec, found.astigmatismUm * perUm, 1e-6, 'digits of 206265');
  expect(found.astigmatismUm).toBeGreaterThan(1);
});

test('the two images of a refractor lie on spheres of f / 3.7 and f / 1.7', () => {
  // A thin lens at its stop, third order: radii f / (3 + P) and f / (1 + P) with a Petzval sum P near 0.7
  // (textbook of lens design, from memory). A sphere of radius R is y^2 / 2 R deep.
  const { sagittalComaUm, tangentialFocusShiftUm, sagittalFocusShiftUm } = offAxisAberrations({
    design: 'refractor',
    apertureMm: 100,
    focalLengthMm: 700,
    offAxisMm: 14,
  });
  const depthUm = (radii: number) => ((1000 * 14 ** 2) / (2 * 700)) * radii;
  expect(sagittalComaUm).toBe(0);
  expectWithin(tangentialFocusShiftUm, depthUm(3.72), 1e-9, 'P = 0.72');
  expectWithin(sagittalFocusShiftUm, depthUm(1.72), 1e-9, 'P = 0.72');
});

test('a catadioptric telescope whose corrector is not placed has it at its secondary mirror', () => {
  const telescope: OffAxisOptions = {
    design: 'catadioptric',
    apertureMm: 200,
    focalLengthMm: 2000,
    offAxisMm: 10,
    primaryFNumber: 2,
    backFocusMm: 100,
  };
  // f1 = 400 mm, m = 5, back focus 0.25 f1: the secondary stands f1 (1 - 1.25 / 6) before the first mirror.
  const placed = offAxisAberrations({ ...telescope, correctorMm: 400 * (1 - 1.25 / 6) });
  const free = offAxisAberrations(telescope);
  expectWithin(free.sagittalComaUm / placed.sagittalComaUm, 1, 1e-12, 'rounding');
  expectWithin(free.tangentialFocusShiftUm / placed.tangentialFocusShiftUm, 1, 1e-12, 'rounding');
  expectWithin(free.sagittalFocusShiftUm / placed.sagittalFocusShiftUm, 1, 1e-12, 'rounding');
});

test('primaryFNumber and secondaryMagnification say the same', () => {
  const common = {
    design: 'classical-cassegrain',
    apertureMm: 200,
    focalLengthMm: 2000,
    backFocusMm: 150,
    offAxisMm: 10,
  } as const;
  expect(offAxisAberrations({ ...common, primaryFNumber: 2.5 })).toEqual(
    offAxisAberrations({ ...common, secondaryMagnification: 4 }),
  );
});

test('a bad argument is named with the value got and what is allowed', () => {
  const pair = {
    design: 'classical-cassegrain',
    apertureMm: 200,
    focalLengthMm: 2000,
    backFocusMm: 150,
    offAxisMm: 10,
    secondaryMagnification: 4,
  } as const;
  const call = (fields: object) => () => offAxisAberrations({ ...pair, ...fields } as OffAxisOptions);
  expect(call({ design: 'dobsonian' })).toThrow('design must be one of paraboloid, classical-cassegrain');
  expect(call({ apertureMm: 0 })).toThrow('apertureMm must be a finite number > 0, got 0');
  expect(call({ offAxisMm: -1 })).toThrow('offAxisMm must be a finite number >= 0, got -1');
  expect(call({ secondaryMagnification: 1 })).toThrow('secondaryMagnification must be > 1, got 1');
  expect(call({ secondaryMagnification: undefined })).toThrow(
    'give either primaryFNumber or secondaryMagnification',
  );
  expect(call({ primaryFNumber: 2.5 })).toThrow('give either primaryFNumber or secondaryMagnification');
  expect(call({ secondaryMagnification: undefined, primaryFNumber: 12 })).toThrow(
    "primaryFNumber must be < the telescope's 10, got 12",
  );
  expect(call({ backFocusMm: -500 })).toThrow('backFocusMm must be in (-500, 2000), got -500');
  expect(call({ backFocusMm: Number.NaN })).toThrow('backFocusMm must be a finite number, got NaN');
  expect(call({ design: 'corrected' })).toThrow('known must be an object, got undefined');
  expect(call({ design: 'corrected', known: { offAxisMm: 0 } })).toThrow('known.offAxisMm must be');
  expect(call({ focalLengthMm: 90 })).toThrow('fNumber must be > 0.5, got 0.45');
});
