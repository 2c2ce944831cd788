/** The spherical aberration of a plane plate against rays traced through it by Snell's law. */
import { glassPlateAberration } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';

interface Plate {
  readonly thicknessMm: number;
  readonly refractiveIndex: number;
}

/**
 * A ray at angle u of a beam that would meet at z = 0, through a plate whose front is 50 mm before: how far
 * behind z = 0 it then meets the axis, and its optical path (mm) to where it passes nearest to the point at z
 * = `focus`.
 */
function traced(
  { thicknessMm: t, refractiveIndex: n }: Plate,
  u: number,
  focus: number,
): { meets: number; path: number } {
  const front = -50;
  const inside = Math.asin(Math.sin(u) / n);
  const height = -front * Math.tan(u) - t * Math.tan(inside);
  const back = front + t;
  return {
    meets: back + height / Math.tan(u),
    // from the sphere of 1000 mm around z = 0 to the front, in the glass, and on to the foot of the
    // perpendicular
    path:
      1000 +
      front / Math.cos(u) +
      (n * t) / Math.cos(inside) +
      (focus - back) * Math.cos(u) +
      height * Math.sin(u),
  };
}

describe('against exact rays', () => {
  for (const plate of [
    { thicknessMm: 2, refractiveIndex: 1.5168 },
    { thicknessMm: 12, refractiveIndex: 1.4585 },
  ])
    for (const fNumber of [2.5, 4, 5, 10, 30]) {
      const u = Math.asin(1 / (2 * fNumber));
      const got = glassPlateAberration({ ...plate, fNumber });
      const focus = got.focusShiftUm / 1000;
      const { refractiveIndex: n } = plate;
      const title = `${plate.thicknessMm} mm of index ${n} at F/${fNumber}`;

      test(`${title}: path difference at the rim`, () => {
        const exactNm = 1e6 * (traced(plate, u, focus).path - traced(plate, 0, focus).path);
        const next = (Math.sin(u) ** 2 * (1 + 1 / n ** 2)) / 2;
        expectWithin(
          got.sphericalNm * (1 + next),
          exactNm,
          exactNm * next ** 2 + 1e-6,
          'the term after the next one',
        );
        expect(got.sphericalNm).toBeLessThan(exactNm + 1e-6);
      });
      test(`${title}: where the rays meet`, () => {
        const near = traced(plate, 1e-4, focus).meets;
        expectWithin(got.focusShiftUm, 1000 * near, 1e-4, 'rays at 1e-4 rad are not quite paraxial');
        expectWithin(
          got.longitudinalSphericalUm,
          1000 * (traced(plate, u, focus).meets - focus),
          1e-9,
          'rounding of 50 mm',
        );
      });
    }
});

test('no glass, or glass of index 1, does nothing', () => {
  const nothing = { focusShiftUm: 0, longitudinalSphericalUm: 0, sphericalNm: 0 };
  expect(glassPlateAberration({ thicknessMm: 0, refractiveIndex: 1.5, fNumber: 5 })).toEqual(nothing);
  expect(glassPlateAberration({ thicknessMm: 3, refractiveIndex: 1, fNumber: 5 })).toEqual(nothing);
});

test('a bad argument is named', () => {
  const plate = { thicknessMm: 2, refractiveIndex: 1.5, fNumber: 5 };
  expect(() => glassPlateAberration({ ...plate, thicknessMm: -1 })).toThrow('thicknessMm must be');
  expect(() => glassPlateAberration({ ...plate, refractiveIndex: 0.9 })).toThrow('refractiveIndex must be');
  expect(() => glassPlateAberration({ ...plate, fNumber: 0.4 })).toThrow('fNumber must be');
  expect(() => glassPlateAberration({ ...plate, fNumber: undefined as unknown as number })).toThrow(
    TypeError,
  );
});
