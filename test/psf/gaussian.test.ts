import { type GaussianShape, prepareStar, renderStar } from '@holdfast/psf';
import { describe, test } from 'vitest';
import { cumulativeGaussian } from '../../packages/psf/src/numerics/normal-distribution.ts';
import { expectWithin } from '../expect-within.ts';
import { pixelByBruteForce } from './brute-force.ts';
import { describeShapeContract, type ShapeFacts } from './shape-contract.ts';
import { normalBelow } from './sum-of-gaussians.ts';

const sigmaOf = (fwhmPx: number): number => fwhmPx / (2 * Math.sqrt(2 * Math.log(2)));

const facts: ShapeFacts = {
  reachPx: 24,
  outside: 1e-12,
  pixelError: 1e-10,
  momentErrorPx: 1e-8,
  refused: [
    ['fwhmPx', 0],
    ['fwhmPx', -2],
    ['fwhmPx', Number.NaN],
    ['fwhmPx', '3'],
    ['axisRatio', 0],
    ['axisRatio', 1.01],
    ['angleDeg', Infinity],
  ],
};
const exact = { ...facts, pixelError: 1e-15 };
describeShapeContract('Gaussian', { kind: 'gaussian', fwhmPx: 3 }, exact);
describeShapeContract(
  'Gaussian narrower than a pixel',
  { kind: 'gaussian', fwhmPx: 0.6 },
  {
    ...exact,
    // Pixels too coarse for the star: exp(-2 pi^2 sigma^2) / pi, see below.
    momentErrorPx: 0.0885,
  },
);
describeShapeContract('wide Gaussian', { kind: 'gaussian', fwhmPx: 7 }, exact);
describeShapeContract(
  'Gaussian upright on the pixels',
  { kind: 'gaussian', fwhmPx: 5, axisRatio: 0.6, angleDeg: 90 },
  exact,
);
describeShapeContract(
  'tilted Gaussian',
  { kind: 'gaussian', fwhmPx: 4, axisRatio: 0.7, angleDeg: 25 },
  facts,
);
describeShapeContract(
  'thin tilted Gaussian',
  { kind: 'gaussian', fwhmPx: 6, axisRatio: 0.05, angleDeg: -52 },
  facts,
);

describe('Gaussian star', () => {
  const tilted: Omit<GaussianShape, 'kind'>[] = [
    { fwhmPx: 3 },
    { fwhmPx: 1, axisRatio: 0.8, angleDeg: 45 },
    { fwhmPx: 3, axisRatio: 0.5, angleDeg: 30 },
    { fwhmPx: 2.355, axisRatio: 0.9, angleDeg: 100 },
    { fwhmPx: 8, axisRatio: 0.3, angleDeg: -71 },
    { fwhmPx: 5, axisRatio: 0.06, angleDeg: 3 },
    { fwhmPx: 0.3, axisRatio: 0.4, angleDeg: 200 },
    { fwhmPx: 20, axisRatio: 0.95, angleDeg: 12 },
  ];
  test.each(tilted)('each pixel is within 1e-10 of brute force: %o', (fields) => {
    const { fwhmPx, axisRatio = 1, angleDeg = 0 } = fields;
    const long = sigmaOf(fwhmPx);
    const short = long * axisRatio;
    const c = Math.cos((angleDeg * Math.PI) / 180);
    const s = Math.sin((angleDeg * Math.PI) / 180);
    const density = (dx: number, dy: number): number => {
      const u = (c * dx + s * dy) / long;
      const v = (c * dy - s * dx) / short;
      return Math.exp(-0.5 * (u * u + v * v)) / (2 * Math.PI * long * short);
    };
    const at = { width: 17, height: 14, x: 7.3, y: 6.9, flux: 1 };
    const star = renderStar({ kind: 'gaussian', ...fields }, at);
    for (let j = 0; j < at.height; j++)
      for (let i = 0; i < at.width; i++) {
        // Only where there is light at all: the rest takes long to sum and is below 1e-20.
        const [dx, dy] = [i - at.x, j - at.y];
        const near = Math.hypot((c * dx + s * dy) / long, (c * dy - s * dx) / short) - 0.71 / short < 10;
        const sure = near ? pixelByBruteForce(density, () => 2 * short, dx, dy) : 0;
        expectWithin(star.get(j, i), sure, 1e-10, 'the bound that prepareGaussian states');
      }
  });

  test('the table of its integral is as good as the series it stands for', () => {
    for (let t = -9; t <= 9; t += 0.00713)
      expectWithin(
        cumulativeGaussian(t),
        normalBelow(t),
        2e-15,
        'roundings of numbers near 1, its own and those of the series',
      );
  });

  test('second moments are sigma^2 along each axis, and 1/12 px^2 for the pixel', () => {
    const at = { width: 71, height: 64, x: 34.3, y: 31.8, flux: 1 };
    for (const { axisRatio, angleDeg } of [
      { axisRatio: 1, angleDeg: 0 },
      { axisRatio: 0.5, angleDeg: 0 },
      { axisRatio: 0.5, angleDeg: 30 },
      { axisRatio: 0.7, angleDeg: 135 },
    ]) {
      const star = renderStar({ kind: 'gaussian', fwhmPx: 6, axisRatio, angleDeg }, at);
      const moment = { xx: 0, xy: 0, yy: 0 };
      for (let j = 0; j < at.height; j++)
        for (let i = 0; i < at.width; i++) {
          moment.xx += star.get(j, i) * (i - at.x) ** 2;
          moment.xy += star.get(j, i) * (i - at.x) * (j - at.y);
          moment.yy += star.get(j, i) * (j - at.y) ** 2;
        }
      const [long, short] = [sigmaOf(6) ** 2, (sigmaOf(6) * axisRatio) ** 2];
      const c = Math.cos((angleDeg * Math.PI) / 180);
      const s = Math.sin((angleDeg * Math.PI) / 180);
      const why = 'the error of the pixels; nothing lies beyond the stamp';
      expectWithin(moment.xx, long * c * c + short * s * s + 1 / 12, 1e-8, why);
      expectWithin(moment.yy, long * s * s + short * c * c + 1 / 12, 1e-8, why);
      // From +x toward +y: the long axis of a star at 30 degrees goes down to the right where row 0 is on
      // top.
      expectWithin(moment.xy, (long - short) * c * s, 1e-8, why);
    }
  });

  test('coarse pixels pull the center of mass by the aliased frequencies of the star', () => {
    // Poisson summation of i * I[i]: -x error of sum over k of (-1)^(k + 1) exp(-2 pi^2 sigma^2 k^2) sin(2 pi
    // k x) / (pi k) (derived; for sigma = 0 it is the saw tooth of rounding to the nearest pixel).
    const width = 16;
    for (const fwhmPx of [0.3, 0.6, 1, 1.5])
      for (const x of [7, 7.1, 7.25, 7.4, 7.5, 7.8]) {
        const star = renderStar({ kind: 'gaussian', fwhmPx }, { width, height: 13, x, y: 6.2, flux: 1 }).data;
        const center = star.reduce((sum, value, k) => sum + value * (k % width), 0);
        let pull = 0;
        for (let k = 1; k < 40; k++)
          pull +=
            ((-1) ** k *
              Math.exp(-2 * (Math.PI * sigmaOf(fwhmPx) * k) ** 2) *
              Math.sin(2 * Math.PI * k * x)) /
            (Math.PI * k);
        expectWithin(center, x + pull, 1e-9, 'the star beyond the stamp');
      }
  });

  test('turns into the upright star without a jump', () => {
    const at = { width: 21, height: 18, x: 9.3, y: 8.1, flux: 1 };
    for (const angleDeg of [0, 90, 180, -90, 270]) {
      const upright = renderStar({ kind: 'gaussian', fwhmPx: 4, axisRatio: 0.4, angleDeg }, at).data;
      const nearly = renderStar(
        { kind: 'gaussian', fwhmPx: 4, axisRatio: 0.4, angleDeg: angleDeg + 1e-9 },
        at,
      ).data;
      for (let k = 0; k < upright.length; k++)
        expectWithin(nearly[k], upright[k], 1.2e-10, 'its own error, and 1e-9 degrees of turn');
    }
  });

  test.each([1e-3, 1e-9, 1e-300, 5e-324])('with a FWHM of %d px all light is in one pixel', (fwhmPx) => {
    for (const [axisRatio, angleDeg] of [
      [1, 0],
      [0.5, 20],
    ]) {
      const out = new Float64Array(7 * 5);
      const plan = prepareStar({ kind: 'gaussian', fwhmPx, axisRatio, angleDeg }, { width: 7, height: 5 });
      expectWithin(plan.renderInto(out, 3.3, 1.8, 1), 1, 1e-10, 'all of it on the stamp');
      expectWithin(out[2 * 7 + 3], 1, 1e-10, 'all of it in the pixel that holds (3.3, 1.8)');
      // A point on the corner of four pixels belongs to all of them.
      plan.renderInto(out, 3.5, 1.5, 1);
      const corner = [out[7 + 3], out[7 + 4], out[14 + 3], out[14 + 4]];
      expectWithin(
        corner.reduce((a, b) => a + b),
        1,
        1e-10,
        'all light is in the four',
      );
      expectWithin(corner[0], corner[3], 1e-10, 'symmetry about the point');
      if (axisRatio === 1) expectWithin(corner[0], 0.25, 1e-10, 'a quarter each');
    }
  });
});
