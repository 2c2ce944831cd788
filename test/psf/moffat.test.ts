import {
  type MoffatShape,
  moffatAlpha,
  moffatEncircledEnergy,
  moffatNoiseEquivalentArea,
  prepareStar,
  renderStar,
} from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { gaussLegendre } from '../../packages/psf/src/numerics/quadrature.ts';
import { ellipseOf } from '../../packages/psf/src/shapes/ellipse.ts';
import { makeMoffatTable, moffatIntegral, rowRules } from '../../packages/psf/src/shapes/moffat-integral.ts';
import { expectWithin } from '../expect-within.ts';
import { pixelByBruteForce } from './brute-force.ts';
import { describeShapeContract, type ShapeFacts } from './shape-contract.ts';

const facts = (shape: Omit<MoffatShape, 'kind'>, momentErrorPx: number): ShapeFacts => ({
  reachPx: 40,
  // The square holds what the circle within it does, and a little more.
  outside: 1 - moffatEncircledEnergy(shape, 40),
  pixelError: 1e-8,
  momentErrorPx,
  refused: [
    ['fwhmPx', 0],
    ['fwhmPx', -1],
    ['fwhmPx', undefined],
    ['beta', 1],
    ['beta', Number.NaN],
    ['beta', 1000],
    ['beta', null],
    ['axisRatio', 2],
    ['angleDeg', 'north'],
  ],
});
// The wings beyond the stamp, more on one side than on the other, weigh in with their distance; a star of one
// pixel is pulled by the pixels besides.
const stars: (readonly [string, Omit<MoffatShape, 'kind'>, number])[] = [
  ['Kolmogorov-like Moffat', { fwhmPx: 3, beta: 4.765 }, 1e-6],
  ['Moffat with wide wings', { fwhmPx: 3, beta: 2.5 }, 0.01],
  ['Moffat of one pixel', { fwhmPx: 1, beta: 3 }, 0.01],
  ['tilted Moffat', { fwhmPx: 4, beta: 3.5, axisRatio: 0.6, angleDeg: 30 }, 3e-4],
  ['upright Moffat', { fwhmPx: 5, beta: 4, axisRatio: 0.4, angleDeg: 90 }, 3e-4],
];
for (const [name, shape, momentErrorPx] of stars)
  describeShapeContract(name, { kind: 'moffat', ...shape }, facts(shape, momentErrorPx));

describe('Moffat star', () => {
  const shapes: Omit<MoffatShape, 'kind'>[] = [
    { fwhmPx: 3, beta: 3 },
    { fwhmPx: 1.2, beta: 2.5 },
    { fwhmPx: 0.3, beta: 4.765 },
    { fwhmPx: 0.001, beta: 1.5 },
    { fwhmPx: 1e-6, beta: 1.1 },
    { fwhmPx: 9, beta: 4.765 },
    { fwhmPx: 2, beta: 90 },
    { fwhmPx: 6, beta: 1.05 },
    { fwhmPx: 3, beta: 3, axisRatio: 0.5, angleDeg: 30 },
    { fwhmPx: 2, beta: 4, axisRatio: 0.05, angleDeg: -20 },
    { fwhmPx: 5, beta: 2, axisRatio: 0.8, angleDeg: 90 },
  ];
  test.each(shapes)('each pixel is within 1e-8 of brute force: %o', (fields) => {
    const { fwhmPx, beta, axisRatio = 1, angleDeg = 0 } = fields;
    const long = moffatAlpha(fields);
    const short = long * axisRatio;
    const c = Math.cos((angleDeg * Math.PI) / 180);
    const s = Math.sin((angleDeg * Math.PI) / 180);
    const norm = (dx: number, dy: number): number =>
      Math.hypot((c * dx + s * dy) / long, (c * dy - s * dx) / short);
    const density = (dx: number, dy: number): number =>
      ((beta - 1) / (Math.PI * long * short)) * (1 + norm(dx, dy) ** 2) ** -beta;
    // Squares as large as their distance, in any direction, to where the profile has its poles.
    const cell = (dx: number, dy: number, half: number): number => {
      const nearest = Math.max(0, norm(dx, dy) - Math.max(norm(half, half), norm(half, -half)));
      return (1.2 * short * Math.sqrt(1 + nearest ** 2)) / Math.max(1, Math.sqrt(beta / 10));
    };
    const at = { width: 12, height: 9, x: 4.3, y: 3.9, flux: 1 };
    const star = renderStar({ kind: 'moffat', ...fields }, at);
    expect(fwhmPx).toBeGreaterThan(0);
    for (let j = 0; j < at.height; j++)
      for (let i = 0; i < at.width; i++)
        expectWithin(
          star.get(j, i),
          pixelByBruteForce(density, cell, i - at.x, j - at.y),
          1e-8,
          'the bound that prepareMoffat states',
        );
  });

  test.each([1.01, 1.5, 2.5, 4.765, 12, 30, 100])(
    'the table of its integral is within 1e-11: beta = %f',
    (beta) => {
      const table = makeMoffatTable(beta);
      const { nodes, weights } = gaussLegendre(24);
      const step = 0.0317;
      let integral = 0;
      const end = 1900 * step;
      for (let k = 0; k < 1900; k++) {
        const t = k * step;
        if (t > 0) expect(moffatIntegral(table, -t)).toBe(-moffatIntegral(table, t));
        expectWithin(moffatIntegral(table, t), integral, 1e-11, 'the bound that moffatIntegral states');
        for (let n = 0; n < 24; n++)
          integral += 0.5 * step * weights[n] * (1 + (t + 0.5 * step * (1 + nodes[n])) ** 2) ** -beta;
      }
      // The rest, from here to infinity, by the series of (1 + u^2)^-beta in 1 / u^2.
      let rest = 0;
      let coefficient = 1;
      for (let k = 0; k < 6; k++) {
        rest += (coefficient * end ** (1 - 2 * beta - 2 * k)) / (2 * beta - 1 + 2 * k);
        coefficient *= -(beta + k) / (k + 1);
      }
      expectWithin(
        moffatIntegral(table, 1e300),
        integral + rest,
        beta < 1.3 ? 2e-8 : 1e-11,
        'the end of the table',
      );
    },
  );

  test('the order that is chosen for a row is not more than one above the least that would do', () => {
    // A bound that is too careful costs time; one that is not careful enough fails the test against brute
    // force.
    for (const [fwhmPx, beta] of [
      [3, 3],
      [6, 4.765],
      [2, 2.5],
    ]) {
      const { farEnough } = rowRules(ellipseOf({}, moffatAlpha({ fwhmPx, beta })), beta);
      const alpha = moffatAlpha({ fwhmPx, beta });
      // All of the pixel at the star's own column, the worst one, with few points in y.
      const error = (n: number, dy: number): number => {
        const { nodes, weights } = gaussLegendre(n);
        const line = (y: number): number => {
          const fine = gaussLegendre(20);
          let sum = 0;
          for (let k = 0; k < 20; k++) sum += 0.5 * fine.weights[k] * density(0.5 * fine.nodes[k], y);
          return sum;
        };
        const density = (dx: number, y: number): number =>
          ((beta - 1) / (Math.PI * alpha * alpha)) * (1 + (dx * dx + y * y) / (alpha * alpha)) ** -beta;
        let sum = 0;
        for (let k = 0; k < n; k++) sum += 0.5 * weights[k] * line(dy + 0.5 * nodes[k]);
        return Math.abs(sum - pixelByBruteForce(density, () => 1, 0, dy));
      };
      for (const dy of [0.3, 2.7, 5.1, 9.6]) {
        const chosen = farEnough.findIndex((far) => dy >= far) + 1;
        expect(error(chosen, dy)).toBeLessThan(5e-9);
        if (chosen > 2) expect(error(chosen - 2, dy)).toBeGreaterThan(5e-9);
      }
    }
  });

  test('becomes a Gaussian as beta grows, twice as near for twice the beta', () => {
    const at = { width: 17, height: 14, x: 7.3, y: 6.9, flux: 1 };
    const gaussian = renderStar({ kind: 'gaussian', fwhmPx: 4 }, at).data;
    const apart = [25, 50, 100].map((beta) => {
      const moffat = renderStar({ kind: 'moffat', fwhmPx: 4, beta }, at).data;
      return Math.max(...moffat.map((value, k) => Math.abs(value - gaussian[k])));
    });
    expectWithin(apart[0] / apart[1], 2, 0.15, 'the difference is c / beta (1 + c2 / beta)');
    expectWithin(apart[1] / apart[2], 2, 0.08, 'and nearer so the larger beta is');
    expectWithin(apart[2], 0.0005, 0.0004, 'small already');
  });

  test('the closed forms agree with sums over the light', () => {
    // Fine pixels: FWHM = 40 px on a quarter of the plane out to 8.75 FWHM.
    const profile = { fwhmPx: 40, beta: 3 };
    const size = 350;
    const star = renderStar(
      { kind: 'moffat', ...profile },
      { width: size, height: size, x: -0.5, y: -0.5, flux: 4 },
    );
    let squares = 0;
    let within = 0;
    for (let j = 0; j < size; j++)
      for (let i = 0; i < size; i++) {
        squares += star.get(j, i) ** 2;
        if (Math.hypot(i + 0.5, j + 0.5) < 60) within += star.get(j, i);
      }
    expectWithin(
      moffatNoiseEquivalentArea(profile) * (squares / 4),
      1,
      1e-3,
      '1 px over 40, squared, times 1.5',
    );
    expectWithin(
      within,
      moffatEncircledEnergy(profile, 60),
      1e-3,
      'the staircase of pixels along the circle',
    );
    expectWithin(moffatAlpha({ fwhmPx: 2, beta: 1 }), 1, 1e-15, 'half its peak at r = alpha when beta is 1');
    expect(moffatEncircledEnergy(profile, 0)).toBe(0);
  });

  test('far wider than the stamp it is flat, far narrower it is a point with wings', () => {
    const out = new Float64Array(9 * 7);
    prepareStar({ kind: 'moffat', fwhmPx: 1e4, beta: 3 }, { width: 9, height: 7 }).renderInto(out, 4, 3, 1);
    const alpha = moffatAlpha({ fwhmPx: 1e4, beta: 3 });
    for (const value of out)
      expectWithin(
        (value * Math.PI * alpha * alpha) / 2,
        1,
        1e-6,
        'the peak, less 3 (5 px / alpha)^2 at the corner',
      );
    const narrow = prepareStar({ kind: 'moffat', fwhmPx: 1e-6, beta: 3 }, { width: 9, height: 7 });
    expectWithin(narrow.renderInto(out, 4.2, 3.1, 1), 1, 1e-8, 'all on the stamp');
    expectWithin(out[3 * 9 + 4], 1, 1e-8, 'all in one pixel');
  });
});
