/**
 * What every star shape promises, whatever it looks like. One call of `describeShapeContract` for each shape
 * and set of parameters; a new shape costs a line.
 */

import { prepareStar, renderStar, type StarShape } from '@holdfast/psf';
import ndarray from 'ndarray';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';
import { lightMoments } from './light-moments.ts';

export interface ShapeFacts {
  /** Half the side of a stamp that holds the star, px. */
  readonly reachPx: number;
  /** Most of the flux that may lie further out than that. */
  readonly outside: number;
  /** The error that the shape allows itself in a pixel, as a fraction of the flux. */
  readonly pixelError: number;
  /** How far the first moment of the light within the reach may lie from where it should, px. */
  readonly momentErrorPx: number;
  /** Center of mass less the position asked for, px. Default 0, 0. */
  readonly centroidOffset?: { readonly x: number; readonly y: number };
  /** The same star with x and y exchanged. Default: `angleDeg` a becomes 90 - a. */
  readonly transposed?: StarShape;
  /** The same star twice as large. Default: every field that ends in Px is doubled. */
  readonly doubled?: StarShape;
  /** Fields of the shape with values that must be refused by name. */
  readonly refused: readonly (readonly [field: string, value: unknown])[];
}

const flux = 5000;

export function describeShapeContract(name: string, shape: StarShape, facts: ShapeFacts): void {
  const { reachPx, outside, pixelError, momentErrorPx } = facts;
  const offset = facts.centroidOffset ?? { x: 0, y: 0 };
  const stamps = [
    // even x odd, odd x even, and one much wider than high; the star in none of them in the middle
    { width: 2 * reachPx + 4, height: 2 * reachPx + 7, x: reachPx + 1.3, y: reachPx + 2.85 },
    { width: 2 * reachPx + 9, height: 2 * reachPx + 2, x: reachPx + 5.5, y: reachPx + 0.5 },
    { width: 3 * reachPx + 1, height: 2 * reachPx + 1, x: 2 * reachPx - 0.27, y: reachPx },
  ];
  const small = { width: 23, height: 18 };

  describe(`every shape: ${name}`, () => {
    test.each(stamps)('the pixels sum to the flux on $width x $height px at ($x, $y)', (stamp) => {
      const out = new Float64Array(stamp.width * stamp.height);
      const held = prepareStar(shape, stamp).renderInto(out, stamp.x, stamp.y, flux);
      const sum = out.reduce((a, b) => a + b, 0);
      const allowed = outside + 100 * pixelError;
      expectWithin(sum / flux, 1, allowed, 'light further out than the reach, and the error of the pixels');
      expectWithin(held, Math.min(1, sum / flux), 1e-12, 'the held fraction is that sum');
    });

    test.each(stamps)('the center of mass is where it was asked for on $width x $height px', (stamp) => {
      const star = renderStar(shape, { ...stamp, flux }).data;
      const moment = lightMoments(star, stamp.width);
      const why = 'what lies beyond the reach pulls unevenly, and the error of the pixels';
      expectWithin(moment.x, stamp.x + offset.x, momentErrorPx, why);
      expectWithin(moment.y, stamp.y + offset.y, momentErrorPx, why);
    });

    test('a star shifted by whole pixels is the shifted star', () => {
      const { width, height } = small;
      const here = renderStar(shape, { width, height, x: 9.3, y: 8.8, flux });
      const there = renderStar(shape, { width, height, x: 12.3, y: 6.8, flux });
      for (let j = 0; j + 2 < height; j++)
        for (let i = 0; i + 3 < width; i++)
          expectWithin(there.get(j, i + 3), here.get(j + 2, i), 1e-11 * flux, 'rounding of the positions');
    });

    test('x and y exchanged give the transposed star', () => {
      const { width, height } = small;
      const star = renderStar(shape, { width, height, x: 9.3, y: 8.8, flux });
      const turned = renderStar(facts.transposed ?? transposedByAngle(shape), {
        width: height,
        height: width,
        x: 8.8,
        y: 9.3,
        flux,
      });
      for (let j = 0; j < height; j++)
        for (let i = 0; i < width; i++)
          expectWithin(turned.get(i, j), star.get(j, i), 2 * pixelError * flux + 1e-11, 'twice its error');
    });

    test('four pixels of the star twice as large are one pixel of the star', () => {
      const { width, height } = small;
      const star = renderStar(shape, { width, height, x: 9.3, y: 8.8, flux });
      const large = renderStar(facts.doubled ?? doubledPx(shape), {
        width: 2 * width,
        height: 2 * height,
        x: 2 * 9.3 + 0.5,
        y: 2 * 8.8 + 0.5,
        flux,
      });
      for (let j = 0; j < height; j++)
        for (let i = 0; i < width; i++) {
          const four =
            large.get(2 * j, 2 * i) +
            large.get(2 * j, 2 * i + 1) +
            large.get(2 * j + 1, 2 * i) +
            large.get(2 * j + 1, 2 * i + 1);
          expectWithin(star.get(j, i), four, 5 * pixelError * flux + 1e-11, 'the error of five pixels');
        }
    });

    const places = [
      [9.3, 8.8],
      [10, 7],
      [10.5, 7.5],
      [-0.5, -0.5],
      [22.5, 3],
      [-40.2, 300.7],
      [1e9, -1e12],
    ] as const;
    test.each(places)('every pixel is finite and not negative with the star at (%f, %f)', (x, y) => {
      const out = new Float64Array(small.width * small.height).fill(Number.NaN);
      const held = prepareStar(shape, small).renderInto(out, x, y, flux);
      expect(out.every((value) => value >= 0 && value < Infinity)).toBe(true);
      expect(held >= 0 && held <= 1).toBe(true);
    });

    test('a stamp that clips the star says which fraction it holds, and folds nothing back', () => {
      const width = 2 * reachPx + 3;
      const height = 2 * reachPx + 8;
      const whole = renderStar(shape, { width, height, x: reachPx + 1.3, y: reachPx + 2.85, flux });
      const cut = { width: reachPx + 2, height: reachPx + 4 };
      const out = new Float64Array(cut.width * cut.height);
      const held = prepareStar(shape, cut).renderInto(out, reachPx + 1.3, reachPx + 2.85, flux);
      let sum = 0;
      for (let j = 0, k = 0; j < cut.height; j++)
        for (let i = 0; i < cut.width; i++, k++) {
          expectWithin(out[k], whole.get(j, i), 1e-12 * flux, 'rounding only: the pixel is the same');
          sum += out[k];
        }
      expectWithin(held, sum / flux, 1e-12, 'rounding of a sum');
      expect(held > 0.05 && held < 0.999).toBe(true);
      expect(prepareStar(shape, cut).renderInto(out, -1e6, 5, flux)).toBeLessThan(1e-4);
    });

    test('a star of no electrons is dark, and its held fraction is that of any other', () => {
      const plan = prepareStar(shape, small);
      const out = new Float64Array(small.width * small.height);
      const held = plan.renderInto(out, 1.3, 8.8, flux);
      expectWithin(plan.renderInto(out, 1.3, 8.8, 0), held, 1e-12, 'rounding of a sum');
      expect(out.every((value) => value === 0)).toBe(true);
    });

    test('the light is in proportion to the flux', () => {
      const one = renderStar(shape, { ...small, x: 9.3, y: 8.8, flux: 1 }).data;
      const many = renderStar(shape, { ...small, x: 9.3, y: 8.8, flux: 7e4 }).data;
      for (let k = 0; k < one.length; k++) expectWithin(many[k] / 7e4, one[k], 1e-15, 'rounding only');
    });

    test('the same call gives the same bits, whatever was drawn between', () => {
      const plan = prepareStar(shape, small);
      const first = new Float64Array(small.width * small.height);
      const again = new Float64Array(small.width * small.height);
      plan.renderInto(first, 9.3, 8.8, flux);
      plan.renderInto(again, 2.1, 17.9, 3 * flux);
      plan.renderInto(again, 1e9, -1e9, 1);
      plan.renderInto(again, 9.3, 8.8, flux);
      expect(again).toEqual(first);
      expect(renderStar(shape, { ...small, x: 9.3, y: 8.8, flux }).data).toEqual(first);
    });

    test('a transposed or strided image is drawn into as seen, and nothing beside it is touched', () => {
      const { width, height } = small;
      const expected = renderStar(shape, { ...small, x: 9.3, y: 8.8, flux });
      const plan = prepareStar(shape, small);
      const turned = ndarray(new Float64Array(width * height), [width, height]).transpose(1, 0);
      const frame = ndarray(new Float64Array(3 * width * 2 * height).fill(-7), [2 * height, 3 * width]);
      const view = frame
        .lo(3, 5)
        .hi(height, 2 * width)
        .step(1, 2);
      const heldTurned = plan.renderInto(turned, 9.3, 8.8, flux);
      const heldView = plan.renderInto(view, 9.3, 8.8, flux);
      expect(heldView).toBe(heldTurned);
      for (let j = 0; j < height; j++)
        for (let i = 0; i < width; i++) {
          expect(turned.get(j, i)).toBe(expected.get(j, i));
          expect(view.get(j, i)).toBe(expected.get(j, i));
        }
      expect(frame.data.filter((value) => value === -7).length).toBe(5 * width * height);
    });

    test('the shape is not touched', () => {
      const frozen = deepFreeze(structuredClone(shape));
      renderStar(frozen, { ...small, x: 9.3, y: 8.8, flux });
      expect(frozen).toEqual(shape);
    });

    test.each(facts.refused)('refuses %s = %s and says so', (field, value) => {
      const broken = { ...shape, [field]: value } as StarShape;
      const refusal = thrownBy(() => prepareStar(broken, small));
      expect(refusal).toBeInstanceOf(typeof value === 'number' ? RangeError : TypeError);
      expect((refusal as Error).message).toContain(field);
    });

    test.each([
      ['width', { width: 0 }],
      ['width', { width: 7.5 }],
      ['height', { height: -3 }],
      ['height', { height: 1e6 }],
      ['x', { x: Number.NaN }],
      ['x', { x: '3' }],
      ['y', { y: Infinity }],
      ['flux', { flux: -1 }],
      ['flux', { flux: Number.NaN }],
    ])('refuses a bad %s: %o', (field, bad) => {
      const refusal = thrownBy(() => renderStar(shape, { ...small, x: 9, y: 8, flux, ...(bad as object) }));
      expect(refusal).toBeInstanceOf('x' in bad && typeof bad.x === 'string' ? TypeError : RangeError);
      expect((refusal as Error).message).toMatch(new RegExp(`^${field} must be`));
    });

    test('refuses an image of another size', () => {
      const plan = prepareStar(shape, small);
      const turned = ndarray(new Float64Array(23 * 18), [23, 18]);
      expect(() => plan.renderInto(new Float64Array(23 * 18 + 1), 9, 8, 1)).toThrow(
        /^out must have width \* height/,
      );
      expect(() => plan.renderInto(turned, 9, 8, 1)).toThrow(/^out must be 23 x 18 px, got 18 x 23 px/);
    });
  });
}

function transposedByAngle(shape: StarShape): StarShape {
  return 'angleDeg' in shape && shape.angleDeg !== undefined
    ? { ...shape, angleDeg: 90 - shape.angleDeg }
    : shape;
}

function doubledPx(shape: StarShape): StarShape {
  const fields = Object.entries(shape).map(([field, value]) => [
    field,
    field.endsWith('Px') && typeof value === 'number' ? 2 * value : value,
  ]);
  return Object.fromEntries(fields) as StarShape;
}

function deepFreeze<T>(value: T): T {
  if (typeof value === 'object' && value !== null && !ArrayBuffer.isView(value))
    for (const part of Object.values(Object.freeze(value))) deepFreeze(part);
  return value;
}

function thrownBy(call: () => unknown): unknown {
  try {
    call();
  } catch (error) {
    return error;
  }
  return undefined;
}
