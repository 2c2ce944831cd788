/** The comet: its light point by point, its moments, and what it goes over into without coma. */
import { describe, expect, test } from 'vitest';
import type { SpotDiagram } from '../../packages/psf/src/image/spot-diagram.ts';
import { gaussLegendre } from '../../packages/psf/src/numerics/quadrature.ts';
import { prepareAnnulus } from '../../packages/psf/src/shapes/annulus.ts';
import { type ComaShape, comaCentroidOffset, prepareComa } from '../../packages/psf/src/shapes/coma.ts';
import { prepareGaussian } from '../../packages/psf/src/shapes/gaussian.ts';
import { expectWithin } from '../expect-within.ts';
import { lightMoments } from './light-moments.ts';
import { describeShapeContract } from './shape-contract.ts';
import { sumOfGaussians } from './sum-of-gaussians.ts';

const sigmaOf = (fwhm: number): number => fwhm / (2 * Math.sqrt(2 * Math.log(2)));

const comet = (fields: Partial<ComaShape>): ComaShape => ({
  kind: 'coma',
  sagittalComaPx: 3,
  angleDeg: 0,
  obstructionRatio: 0,
  blurFwhmPx: 2.5,
  ...fields,
});

const size = { width: 60, height: 52 };

function draw(fields: Partial<ComaShape>, x: number, y: number, { width, height } = size): Float64Array {
  const out = new Float64Array(width * height).fill(Number.NaN);
  prepareComa(comet(fields), { width, height }).renderInto(out, x, y, 1);
  return out;
}

/** Rays from the formulas of the comet, far more than are needed at the sizes drawn here. */
function denseRays(fields: Partial<ComaShape>): SpotDiagram {
  const { sagittalComaPx: coma, angleDeg, obstructionRatio: e, defocusDiameterPx = 0 } = comet(fields);
  const turn = (angleDeg * Math.PI) / 180;
  const angles = 120;
  const zones = gaussLegendre(60);
  const points = Array.from({ length: 60 * angles }, (_, n) => {
    const zone = Math.floor(n / angles);
    const rho = (1 + e + (1 - e) * zones.nodes[zone]) / 2;
    const phi = (2 * Math.PI * (n % angles)) / angles;
    const ring = (defocusDiameterPx / 2) * rho;
    const along = coma * rho * rho * (2 + Math.cos(2 * phi)) + ring * Math.cos(phi) - coma * (1 + e * e);
    const across = coma * rho * rho * Math.sin(2 * phi) + ring * Math.sin(phi);
    return {
      x: along * Math.cos(turn) - across * Math.sin(turn),
      y: along * Math.sin(turn) + across * Math.cos(turn),
      weight: (zones.weights[zone] * rho) / (1 + e) / angles,
    };
  });
  return {
    x: Float64Array.from(points, ({ x }) => x),
    y: Float64Array.from(points, ({ y }) => y),
    weights: Float64Array.from(points, ({ weight }) => weight),
  };
}

const largestDifference = (a: Float64Array, b: Float64Array): number =>
  a.reduce((most, value, k) => Math.max(most, Math.abs(value - b[k])), 0);

for (const [name, fields, reachPx] of [
  ['a comet', { sagittalComaPx: 3, angleDeg: 25, obstructionRatio: 0.35 }, 17],
  ['a defocused comet', { sagittalComaPx: 1.5, angleDeg: -100, defocusDiameterPx: 9 }, 17],
  ['a comet of no coma', { sagittalComaPx: 0 }, 9],
] as const)
  describeShapeContract(name, comet(fields), {
    reachPx,
    outside: 1e-11,
    pixelError: 1e-9,
    momentErrorPx: 1e-8,
    refused: [
      ['sagittalComaPx', -1],
      ['sagittalComaPx', 1e4],
      ['angleDeg', Infinity],
      ['obstructionRatio', 1],
      ['blurFwhmPx', Number.NaN],
      ['blurFwhmPx', undefined],
      ['defocusDiameterPx', -0.1],
    ],
  });

describe('against dense rays', () => {
  for (const fields of [
    { sagittalComaPx: 0.2, angleDeg: 20 },
    { sagittalComaPx: 4, angleDeg: -70, obstructionRatio: 0.35 },
    { sagittalComaPx: 4, angleDeg: 200, obstructionRatio: 0.9, blurFwhmPx: 1.2 },
    { sagittalComaPx: 3, angleDeg: 110, obstructionRatio: 0.3, defocusDiameterPx: 11 },
    { sagittalComaPx: 0.7, angleDeg: 0, defocusDiameterPx: 14, blurFwhmPx: 1.5 },
  ])
    test(JSON.stringify(fields), () => {
      const at = { ...size, x: 30.3, y: 24.9, flux: 1 };
      const dense = sumOfGaussians(denseRays(fields), sigmaOf(comet(fields).blurFwhmPx), at);
      expectWithin(largestDifference(draw(fields, at.x, at.y), dense), 0, 1e-9, 'the stated bound');
    });
});

test('a filled pupil is an annulus and the smaller pupil inside it, also for a comet 27 blurs wide', () => {
  // Each of the three has rays of its own: they agree only if all have enough of them.
  const hole = 0.6;
  for (const [coma, defocusDiameterPx, blurFwhmPx] of [
    [8, 0, 0.3],
    [6, 20, 0.7],
  ]) {
    const at = (fields: Partial<ComaShape>): Float64Array => {
      const shape = comet({ blurFwhmPx, angleDeg: 25, ...fields });
      const offset = comaCentroidOffset(shape);
      return draw(shape, 25 + offset.x, 30 + offset.y, { width: 100, height: 90 });
    };
    const whole = at({ sagittalComaPx: coma, defocusDiameterPx });
    const outer = at({ sagittalComaPx: coma, defocusDiameterPx, obstructionRatio: hole });
    const inner = at({ sagittalComaPx: coma * hole * hole, defocusDiameterPx: defocusDiameterPx * hole });
    const joined = outer.map((light, k) => light * (1 - hole * hole) + inner[k] * hole * hole);
    expectWithin(
      largestDifference(whole, joined),
      0,
      2e-9,
      'the stated bound of pictures with a flux of 2 in all',
    );
  }
});

describe('without coma', () => {
  test('it is the Gaussian', () => {
    for (const blurFwhmPx of [0.25, 1, 2.5, 9]) {
      const gaussian = new Float64Array(size.width * size.height);
      prepareGaussian({ kind: 'gaussian', fwhmPx: blurFwhmPx }, size).renderInto(gaussian, 29.8, 25.1, 1);
      const ours = draw({ sagittalComaPx: 0, blurFwhmPx }, 29.8, 25.1);
      expectWithin(largestDifference(ours, gaussian), 0, 1e-9, 'our bound');
    }
  });
  test('with defocus it is the ring', () => {
    for (const [blurFwhmPx, outerDiameterPx, obstructionRatio] of [
      [2.5, 12, 0.35],
      [1, 30, 0],
      [0.5, 3, 0.8],
    ]) {
      const ring = new Float64Array(size.width * size.height);
      prepareAnnulus({ kind: 'annulus', outerDiameterPx, obstructionRatio, blurFwhmPx }, size).renderInto(
        ring,
        29.8,
        25.1,
        1,
      );
      const ours = draw(
        { sagittalComaPx: 0, blurFwhmPx, obstructionRatio, defocusDiameterPx: outerDiameterPx },
        29.8,
        25.1,
      );
      expectWithin(largestDifference(ours, ring), 0, 1.1e-8, 'our bound and that of the ring');
    }
  });
  test('a little coma changes it little: no jump', () => {
    const none = draw({ sagittalComaPx: 0 }, 29.8, 25.1);
    for (const sagittalComaPx of [1e-9, 1e-6, 1e-3, 1e-2]) {
      const change = largestDifference(draw({ sagittalComaPx }, 29.8, 25.1), none);
      // Symmetric about its centroid to first order, a spread of Cs px^2 adds the second: rms^2 = Cs^2 / 2
      // along the tail.
      expectWithin(
        change,
        0,
        2e-10 + 0.1 * sagittalComaPx ** 2,
        'second order in the coma, and twice our bound',
      );
    }
  });
});

describe('moments', () => {
  // From the map of the pupil, with E[rho^4] = (1 + e^2 + e^4) / 3: derived, no source.
  for (const [sagittalComaPx, angleDeg, obstructionRatio, defocusDiameterPx] of [
    [3, 0, 0, 0],
    [3, 90, 0.35, 0],
    [5, 123, 0.5, 0],
    [2, -31, 0.3, 12],
  ])
    test(`Cs ${sagittalComaPx} px at ${angleDeg} deg, obstruction ${obstructionRatio}, ring ${defocusDiameterPx} px`, () => {
      const big = { width: 90, height: 76 };
      const image = draw({ sagittalComaPx, angleDeg, obstructionRatio, defocusDiameterPx }, 44.3, 36.8, big);
      const got = lightMoments(image, big.width);
      const e2 = obstructionRatio * obstructionRatio;
      const fourth = (1 + e2 + e2 * e2) / 3;
      const other = sigmaOf(2.5) ** 2 + 1 / 12 + ((defocusDiameterPx / 2) ** 2 * (1 + e2)) / 4;
      const along = sagittalComaPx ** 2 * (4.5 * fourth - (1 + e2) ** 2) + other;
      const across = (sagittalComaPx ** 2 * fourth) / 2 + other;
      const c = Math.cos((angleDeg * Math.PI) / 180);
      const s = Math.sin((angleDeg * Math.PI) / 180);
      const why = '1e-11 of the flux at some 20 px';
      expectWithin(got.sum, 1, 1e-10, 'nothing lies beyond this stamp');
      expectWithin(got.x, 44.3, 1e-9, why);
      expectWithin(got.y, 36.8, 1e-9, why);
      expectWithin(got.xx, c * c * along + s * s * across, 1e-8, why);
      expectWithin(got.yy, s * s * along + c * c * across, 1e-8, why);
      expectWithin(got.xy, c * s * (along - across), 1e-8, why);
    });
});

describe('the figure of the comet', () => {
  // A sharp one, drawn with its chief ray at (20, 30) and its tail along +x.
  const coma = 15;
  const sharp = { sagittalComaPx: coma, blurFwhmPx: 0.25 };
  const offset = comaCentroidOffset(comet(sharp));
  const image = draw(sharp, 20 + offset.x, 30 + offset.y, { width: 80, height: 61 });
  const lit = (i: number, j: number): boolean => image[j * 80 + i] > 1e-7;

  test('is 3 Cs long and 2 Cs wide', () => {
    const columns = Array.from({ length: 80 }, (_, i) => i).filter((i) =>
      image.some((_, k) => k % 80 === i && lit(i, Math.floor(k / 80))),
    );
    const rows = Array.from({ length: 61 }, (_, j) => j).filter((j) => columns.some((i) => lit(i, j)));
    // pixels reach half a pixel further, the blur of 0.11 px rms half a pixel more
    expectWithin(columns[0], 20, 1, 'pixel and blur');
    expectWithin(columns[columns.length - 1], 20 + 3 * coma, 1, 'pixel and blur');
    expectWithin(rows[0], 30 - coma, 1, 'pixel and blur');
    expectWithin(rows[rows.length - 1], 30 + coma, 1, 'pixel and blur');
  });
  test('fills a wedge of half-angle 30 degrees', () => {
    for (let i = 24; i < 20 + 1.4 * coma; i++) {
      const edge = (i - 20) * Math.tan(Math.PI / 6);
      const rows = Array.from({ length: 31 }, (_, j) => j).filter((j) => lit(i, 30 + j));
      expectWithin(rows[rows.length - 1], edge, 1.3, 'half a pixel, half a pixel of slope, blur');
    }
  });
  test('has the brightness of its caustic, roots / (2 pi Cs sqrt(x^2 - 3 y^2))', () => {
    // Derived: the Jacobian of the map. Near the axis and within Cs of the apex both roots count, beyond it
    // one.
    for (const [i, j, roots] of [
      [28, 30, 2],
      [32, 31, 2],
      [32, 28, 2],
      [50, 30, 1],
      [58, 33, 1],
    ]) {
      const [x, y] = [i - 20, j - 30];
      const expected = roots / (2 * Math.PI * coma * Math.sqrt(x * x - 3 * y * y));
      expectWithin(
        image[j * 80 + i],
        expected,
        0.02 * expected,
        'a pixel is not a point: second order in 1 / x',
      );
    }
  });
});

describe('comaCentroidOffset', () => {
  test('is Cs (1 + obstruction^2) down the tail', () => {
    const offset = comaCentroidOffset({ sagittalComaPx: 4, angleDeg: 90, obstructionRatio: 0.5 });
    expectWithin(offset.x, 0, 1e-15, 'exact');
    expectWithin(offset.y, 5, 1e-15, 'exact');
  });
  test('the brightest light lies toward the chief ray', () => {
    for (const angleDeg of [0, 90, 217]) {
      const image = draw({ angleDeg, sagittalComaPx: 4 }, 30, 25);
      const peak = image.indexOf(Math.max(...image));
      const offset = comaCentroidOffset(comet({ angleDeg, sagittalComaPx: 4 }));
      const toward = ((30 - (peak % 60)) * offset.x + (25 - Math.floor(peak / 60)) * offset.y) / 4;
      expectWithin(toward, 2, 1.5, 'the peak of a blurred comet lies between chief ray and centroid');
    }
  });
});

test('a bad field is named with the value got and what is allowed', () => {
  const draws = (fields: object) => () => draw(fields, 30, 25);
  expect(draws({ sagittalComaPx: -1 })).toThrow('sagittalComaPx must be a finite number >= 0, got -1');
  expect(draws({ sagittalComaPx: 161 })).toThrow('sagittalComaPx must be in [0, 160], got 161');
  expect(draws({ sagittalComaPx: 17, blurFwhmPx: 0 })).toThrow('sagittalComaPx must be in [0, 16], got 17');
  expect(draws({ angleDeg: Number.NaN })).toThrow('angleDeg must be a finite number, got NaN');
  expect(draws({ obstructionRatio: 1 })).toThrow('obstructionRatio must be in [0, 1), got 1');
  expect(draws({ blurFwhmPx: -2 })).toThrow('blurFwhmPx must be a finite number >= 0, got -2');
  expect(draws({ defocusDiameterPx: 641 })).toThrow('defocusDiameterPx must be in [0, 640], got 641');
  expect(draws({ sagittalComaPx: '3' })).toThrow(TypeError);
});
