/** Splines and the tables made of them, against definitions and exact renders. */
import { prepareStar, type StarShape } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { resolveOptions } from '../../packages/centroid/src/pixels/estimator-options.ts';
import { createPixelList, listPixels } from '../../packages/centroid/src/pixels/valid-pixels.ts';
import { sampleTemplate } from '../../packages/centroid/src/template/star-template.ts';
import {
  createTemplateValues,
  fillTemplate,
  sumSecondDerivatives,
  tabulateTemplate,
} from '../../packages/centroid/src/template/template-table.ts';
import {
  prepareSplineFilter,
  splineCurvatures,
  splineWeights,
} from '../../packages/psf/src/numerics/b-spline.ts';
import { expectWithin } from '../expect-within.ts';

const degrees = [1, 3, 5, 7, 9];

const weightsOf = (f: number, degree: number) => {
  const weight = new Float64Array(degree + 1);
  const derivative = new Float64Array(degree + 1);
  const curvature = new Float64Array(degree + 1);
  splineWeights(weight, derivative, f, degree);
  if (degree > 1) splineCurvatures(curvature, f, degree);
  return { weight, derivative, curvature };
};

describe('B-splines', () => {
  test('the cubic one by its textbook polynomials', () => {
    for (const f of [0, 0.3, 0.5, 0.99]) {
      const g = 1 - f;
      const expected = [
        [g ** 3 / 6, (-g * g) / 2, g],
        [(4 - 6 * f * f + 3 * f ** 3) / 6, (3 * f * f - 4 * f) / 2, 3 * f - 2],
        [(4 - 6 * g * g + 3 * g ** 3) / 6, (4 * g - 3 * g * g) / 2, 3 * g - 2],
        [f ** 3 / 6, (f * f) / 2, f],
      ];
      const { weight, derivative, curvature } = weightsOf(f, 3);
      expected.forEach(([w, d, c], i) => {
        expectWithin(weight[i], w, 1e-15, 'rounding');
        expectWithin(derivative[i], d, 1e-15, 'rounding');
        expectWithin(curvature[i], c, 4e-15, 'rounding');
      });
    }
  });

  test('every degree: sum 1, middle at the place asked for, variance (degree + 1) / 12', () => {
    for (const degree of degrees)
      for (const f of [0, 0.2, 0.73]) {
        const { weight, derivative, curvature } = weightsOf(f, degree);
        const moment = (values: Float64Array, n: number) =>
          values.reduce((sum, w, i) => sum + w * (i - (degree - 1) / 2 - f) ** n, 0);
        expectWithin(moment(weight, 0), 1, 1e-14, 'partition of unity');
        expectWithin(moment(weight, 1), 0, 1e-14, 'linear functions are kept');
        if (degree > 1) expectWithin(moment(weight, 2), (degree + 1) / 12, 1e-13, 'that of degree + 1 boxes');
        expectWithin(moment(derivative, 0), 0, 1e-14, 'a constant does not change');
        expectWithin(moment(derivative, 1), 1, 1e-13, 'slope of a straight line');
        if (degree > 1) expectWithin(moment(curvature, 0), 0, 1e-13, 'a constant has none');
        if (degree > 3) expectWithin(moment(curvature, 2), 2, 1e-12, 'second derivative of a parabola');
      }
  });

  test('derivatives are those of the weights', () => {
    const h = 1e-5;
    for (const degree of [3, 5, 9]) {
      const low = weightsOf(0.4 - h, degree);
      const high = weightsOf(0.4 + h, degree);
      const { derivative, curvature } = weightsOf(0.4, degree);
      for (let i = 0; i <= degree; i++) {
        expectWithin((high.weight[i] - low.weight[i]) / (2 * h), derivative[i], 1e-9, 'central difference');
        expectWithin(
          (high.derivative[i] - low.derivative[i]) / (2 * h),
          curvature[i],
          1e-9,
          'central difference',
        );
      }
    }
  });

  test('coefficients: the spline passes through the values, along rows and columns', () => {
    const width = 7;
    const height = 5;
    const values = Float64Array.from({ length: width * height }, (_, k) => ((k * 7919) % 101) - 50);
    for (const degree of degrees) {
      const { weight } = weightsOf(0, degree);
      const reach = (degree - 1) / 2;
      for (const [lines, length, lineStride, pixelStride] of [
        [height, width, width, 1],
        [width, height, 1, width],
      ]) {
        const coefficients = values.slice();
        prepareSplineFilter(length, degree)(coefficients, lines, lineStride, pixelStride);
        for (let line = 0; line < lines; line++)
          for (let i = 0; i < length; i++) {
            let sum = 0;
            for (let t = 0; t <= degree; t++) {
              const at = i + t - reach;
              if (at >= 0 && at < length)
                sum += weight[t] * coefficients[line * lineStride + at * pixelStride];
            }
            expectWithin(
              sum,
              values[line * lineStride + i * pixelStride],
              1e-10,
              'rounding of a banded solve',
            );
          }
      }
    }
  });
});

describe('the table of a template', () => {
  const size = { width: 32, height: 29 };
  const pixels = size.width * size.height;
  const list = createPixelList(size);
  const resolved = resolveOptions(size, {});
  listPixels(list, new Float64Array(pixels), resolved, resolved.background, 0, 0);
  const values = createTemplateValues(pixels);
  const draw = (shape: StarShape, x: number, y: number) => {
    const out = new Float64Array(pixels);
    prepareStar(shape, size).renderInto(out, x, y, 1);
    return out;
  };

  // Largest error in shares of the highest pixel, and of the steepest slope: as documented
  for (const [shape, error, slopeError] of [
    [{ kind: 'gaussian', fwhmPx: 2.5 }, 4e-5, 6e-4],
    [{ kind: 'gaussian', fwhmPx: 1.5 }, 3e-4, 3e-3],
    [{ kind: 'annulus', outerDiameterPx: 14, obstructionRatio: 0.35, blurFwhmPx: 2.5 }, 1e-5, 2e-4],
  ] as const)
    test(`of a plan: ${JSON.stringify(shape)}`, () => {
      const table = tabulateTemplate(sampleTemplate(prepareStar(shape, size), 4));
      expectWithin(table.light, 1, 1e-6, 'all light');
      const h = 1e-3;
      const pull = Float64Array.from({ length: pixels }, (_, k) => ((k * 31) % 17) / 17);
      let steepest = 0;
      for (let i = 0; i < 12; i++) {
        const x = 12 + 0.437 * i;
        const y = 16 - 0.271 * i;
        fillTemplate(values, list, table, x, y);
        const exact = draw(shape, x, y);
        const [left, right] = [draw(shape, x - h, y), draw(shape, x + h, y)];
        const [upper, lower] = [draw(shape, x, y - h), draw(shape, x, y + h)];
        for (let k = 0; k < pixels; k++) steepest = Math.max(steepest, (right[k] - left[k]) / (2 * h));
        for (let k = 0; k < pixels; k++) {
          expectWithin(values.value[k] / table.peak, exact[k] / table.peak, error, 'documented');
          expectWithin(
            values.byX[k] / steepest,
            (right[k] - left[k]) / (2 * h) / steepest,
            slopeError,
            'documented',
          );
          expectWithin(
            values.byY[k] / steepest,
            (lower[k] - upper[k]) / (2 * h) / steepest,
            slopeError,
            'documented',
          );
        }
        // second derivatives against differences of the first
        const d = 1e-4;
        const sums = (dx: number, dy: number) => {
          fillTemplate(values, list, table, x + dx, y + dy);
          let byX = 0;
          let byY = 0;
          for (let k = 0; k < pixels; k++) {
            byX += pull[k] * values.byX[k];
            byY += pull[k] * values.byY[k];
          }
          return { byX, byY };
        };
        const second = sumSecondDerivatives(list, table, x, y, pull);
        const scale = Math.abs(second.xx) + Math.abs(second.yy) + Math.abs(second.xy);
        expectWithin(
          (sums(d, 0).byX - sums(-d, 0).byX) / (2 * d) / scale,
          second.xx / scale,
          1e-3,
          'cubic pieces',
        );
        expectWithin(
          (sums(0, d).byX - sums(0, -d).byX) / (2 * d) / scale,
          second.xy / scale,
          1e-3,
          'cubic pieces',
        );
        expectWithin(
          (sums(0, d).byY - sums(0, -d).byY) / (2 * d) / scale,
          second.yy / scale,
          1e-3,
          'cubic pieces',
        );
      }
    });

  test('far from the star there is nothing', () => {
    const table = tabulateTemplate(sampleTemplate(prepareStar({ kind: 'gaussian', fwhmPx: 2.5 }, size), 4));
    fillTemplate(values, list, table, -200, 5);
    expect(values.value.every((v) => v === 0)).toBe(true);
    fillTemplate(values, list, table, 15, 300.3);
    expect(values.byY.every((v) => v === 0)).toBe(true);
  });
});
