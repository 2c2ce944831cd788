/**
 * What `renderStar` and `prepareStar` do beside the shapes; what all shapes promise is in shape-contract.ts.
 */

import { prepareStar, renderStar, type StarShape } from '@holdfast/psf';
import ndarray from 'ndarray';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';

const gaussian: StarShape = { kind: 'gaussian', fwhmPx: 3 };

describe('renderStar', () => {
  test('x is the column and y the row, both from 0 at the centers of pixels', () => {
    const star = renderStar(gaussian, { width: 15, height: 10, x: 11, y: 3, flux: 100 });
    expect(star.shape).toEqual([10, 15]);
    let brightest = 0;
    for (let k = 0; k < star.data.length; k++) if (star.data[k] > star.data[brightest]) brightest = k;
    expect(brightest).toBe(3 * 15 + 11);
    expectWithin(star.get(3, 10), star.get(3, 12), 1e-13, 'symmetry to rounding');
    expectWithin(star.get(2, 11), star.get(4, 11), 1e-13, 'symmetry to rounding');
  });

  test('the first pixel reaches from -0.5 to 0.5', () => {
    const narrow: StarShape = { kind: 'gaussian', fwhmPx: 0.01 };
    const inside = renderStar(narrow, { width: 6, height: 4, x: -0.4, y: -0.4, flux: 7 });
    const outside = renderStar(narrow, { width: 6, height: 4, x: -0.6, y: -0.4, flux: 7 });
    expectWithin(inside.get(0, 0), 7, 1e-12, 'all of it in the first pixel');
    expect(outside.data.every((value) => value === 0)).toBe(true);
  });

  test('flux is that of the whole plane, wherever the stamp cuts it', () => {
    const half = renderStar(gaussian, { width: 40, height: 25, x: -0.5, y: 12, flux: 1000 }).data;
    expectWithin(
      half.reduce((a, b) => a + b, 0),
      500,
      1e-9,
      'a star on the left border is cut in half',
    );
  });

  test('a new image every time', () => {
    const at = { width: 9, height: 7, x: 4, y: 3, flux: 10 };
    const first = renderStar(gaussian, at);
    first.data.fill(0);
    expect(renderStar(gaussian, at).get(3, 4)).toBeGreaterThan(0.5);
  });

  test('refuses a shape that it does not know, and says which there are', () => {
    const at = { width: 9, height: 7, x: 4, y: 3, flux: 10 };
    for (const shape of [{ kind: 'square' }, {}, undefined, null])
      expect(() => renderStar(shape as unknown as StarShape, at)).toThrow(
        /^shape.kind must be one of gaussian, moffat, annulus/,
      );
  });
});

describe('prepareStar', () => {
  test('a plan remembers the size it was made for', () => {
    const plan = prepareStar(gaussian, { width: 12, height: 9 });
    expect([plan.width, plan.height]).toEqual([12, 9]);
  });

  test('every pixel is overwritten, in plain pixels and in an image', () => {
    const plan = prepareStar(gaussian, { width: 12, height: 9 });
    const pixels = new Float64Array(12 * 9).fill(1e6);
    const image = ndarray(new Float64Array(12 * 9).fill(1e6), [9, 12]);
    const held = plan.renderInto(pixels, 5.2, 4.1, 50);
    expect(plan.renderInto(image, 5.2, 4.1, 50)).toBe(held);
    expect(image.data).toEqual(pixels);
    expectWithin(
      held * 50,
      pixels.reduce((a, b) => a + b, 0),
      1e-12,
      'rounding of a sum',
    );
  });

  test('the fraction held is of all the light that is drawn: half of a star on the border, with or without a twin', () => {
    const plan = (shape: StarShape) => prepareStar(shape, { width: 23, height: 18 });
    const out = new Float64Array(23 * 18);
    const twins: StarShape = {
      kind: 'group',
      star: gaussian,
      neighbors: [{ dxPx: 11, dyPx: 0, magnitudeDifference: 0 }],
    };
    const beyond = 'a Gaussian has 1.3e-11 of its light beyond 6.7 rms widths, the upper and lower border';
    for (const flux of [50, 0]) {
      expectWithin(plan(gaussian).renderInto(out, -0.5, 9, flux), 0.5, 1e-11, beyond);
      expectWithin(plan(twins).renderInto(out, -0.5, 9, flux), 0.75, 1e-11, beyond);
    }
  });

  test('two plans of one shape do not disturb each other', () => {
    const one = prepareStar({ kind: 'moffat', fwhmPx: 3, beta: 3 }, { width: 12, height: 9 });
    const other = prepareStar({ kind: 'moffat', fwhmPx: 3, beta: 3 }, { width: 12, height: 9 });
    const expected = new Float64Array(108);
    const pixels = new Float64Array(108);
    one.renderInto(expected, 5.2, 4.1, 50);
    other.renderInto(new Float64Array(108), 1, 1, 9);
    one.renderInto(pixels, 5.2, 4.1, 50);
    expect(pixels).toEqual(expected);
  });

  test('refuses what is not an image', () => {
    const plan = prepareStar(gaussian, { width: 12, height: 9 });
    for (const out of [undefined, [1, 2, 3], ndarray(new Float64Array(108), [108])])
      expect(() => plan.renderInto(out as never, 5, 4, 1)).toThrow(TypeError);
  });
});
