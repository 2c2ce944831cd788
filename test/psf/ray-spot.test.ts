/**
 * Stars by their rays: against denser rays, the closed shapes, exact moments, and the wave image of the same
 * wavefront.
 */
import {
  lightCentroid,
  type Pupil,
  prepareStar,
  type RayShape,
  randomStream,
  raySpots,
  renderStar,
  type StarShape,
  type Wavefront,
} from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';
import { type LightMoments, lightMoments } from './light-moments.ts';
import { describeShapeContract } from './shape-contract.ts';
import { sumOfGaussians } from './sum-of-gaussians.ts';

const rays = (pupil: Pupil, wavefront: Wavefront, fields: Partial<RayShape> = {}): RayShape => ({
  kind: 'rays',
  pupil,
  wavefront,
  fNumber: 5,
  pixelSizeUm: 3.75,
  blurFwhmPx: 2,
  ...fields,
});

const plain: Pupil = { obstructionRatio: 0.35 };
const awkward: Pupil = {
  obstructionRatio: 0.35,
  obstructionCenter: { x: 0.05, y: -0.1 },
  vanes: { count: 3, widthRatio: 0.03, angleDeg: 12 },
  clip: { distance: 0.72, angleDeg: 40 },
  illumination: { gradient: 0.3, angleDeg: 100, radial: -0.2 },
};
const mixed: Wavefront = {
  focusShiftUm: 220,
  seidelNm: { coma: 350, astigmatism: -250, spherical: 120, angleDeg: 30 },
};

const size = { width: 61, height: 54 };
const at = { ...size, x: 29.3, y: 27.8, flux: 1 };

const largestDifference = (a: Float64Array, b: Float64Array): number =>
  a.reduce((most, value, k) => Math.max(most, Math.abs(value - b[k])), 0);

describe('contract', () => {
  const blurred = { blurFwhmPx: 3 };
  const shape = rays(awkward, mixed, blurred);
  const centroid = lightCentroid({ pupil: awkward, wavefront: mixed, fNumber: 5 });
  describeShapeContract('rays through an awkward pupil', shape, {
    reachPx: 20,
    outside: 1e-11,
    pixelError: 1e-9,
    momentErrorPx: 1e-8,
    centroidOffset: { x: centroid.xUm / 3.75, y: centroid.yUm / 3.75 },
    transposed: rays(
      {
        obstructionRatio: 0.35,
        obstructionCenter: { x: -0.1, y: 0.05 },
        // three vanes run from 12 degrees in steps of 120: seen in a mirror they run from 78 in steps of -120
        vanes: { count: 3, widthRatio: 0.03, angleDeg: 78 },
        clip: { distance: 0.72, angleDeg: 50 },
        illumination: { gradient: 0.3, angleDeg: -10, radial: -0.2 },
      },
      { ...mixed, seidelNm: { ...mixed.seidelNm, angleDeg: 60 } },
      blurred,
    ),
    doubled: { ...shape, pixelSizeUm: 3.75 / 2, blurFwhmPx: 6 },
    refused: [
      ['pixelSizeUm', 0],
      ['fNumber', 0.5],
      ['blurFwhmPx', -1],
      ['blurFwhmPx', undefined],
      ['pupil', undefined],
      ['wavefront', null],
    ],
  });
});

describe('each pixel is right within 1e-9 of the flux', () => {
  const sigmaOf = (fwhm: number): number => fwhm / (2 * Math.sqrt(2 * Math.log(2)));
  for (const [name, pupil, wavefront, blurFwhmPx] of [
    ['in focus', plain, {}, 2],
    ['defocus', { obstructionRatio: 0 }, { focusShiftUm: -240 }, 2],
    ['a thin ring of a pupil', { obstructionRatio: 0.9 }, mixed, 2.5],
    ['an awkward pupil', awkward, mixed, 3],
    [
      'a small footprint',
      { obstructionRatio: 0.2, footprint: { width: 0.7, height: 1.1, x: 0.3, angleDeg: 33 } },
      mixed,
      2,
    ],
    [
      'an off-center obstruction that leaves a crescent',
      { obstructionRatio: 0.7, obstructionCenter: { x: 0.4, y: 0 } },
      mixed,
      3,
    ],
    [
      'Zernike terms up to the sixth order',
      awkward,
      { zernikesNm: { 6: 90, 11: -40, 14: 50, 22: 25, 27: 15 } },
      3,
    ],
  ] as [string, Pupil, Wavefront, number][])
    test(`${name}: as the sum of rays made for half of the blur`, () => {
      const dense = raySpots(rays(pupil, wavefront, { blurFwhmPx: blurFwhmPx / 2 }));
      const expected = sumOfGaussians(dense, sigmaOf(blurFwhmPx), at);
      const got = renderStar(rays(pupil, wavefront, { blurFwhmPx }), at);
      expectWithin(largestDifference(got.data, expected), 0, 1e-9, 'the stated bound');
    });
});

describe('against the closed shapes', () => {
  test('defocus alone is the ring', () => {
    for (const focusShiftUm of [150, -300]) {
      const ring: StarShape = {
        kind: 'annulus',
        outerDiameterPx: Math.abs(focusShiftUm) / 5 / 3.75,
        obstructionRatio: 0.35,
        blurFwhmPx: 2,
      };
      const got = renderStar(rays(plain, { focusShiftUm }), at);
      expectWithin(largestDifference(got.data, renderStar(ring, at).data), 0, 1.1e-8, 'the bounds of both');
    }
  });
  test('coma and defocus are the comet, drawn around its center of mass', () => {
    // 2 F W131 = 4 um = 1.0667 px of sagittal coma
    const comet: StarShape = {
      kind: 'coma',
      sagittalComaPx: 4 / 3.75,
      angleDeg: -130,
      obstructionRatio: 0.35,
      blurFwhmPx: 2,
      defocusDiameterPx: 100 / 5 / 3.75,
    };
    const offset = (4 / 3.75) * (1 + 0.35 ** 2);
    const turn = (-130 * Math.PI) / 180;
    const got = renderStar(rays(plain, { focusShiftUm: 100, seidelNm: { coma: 400, angleDeg: -130 } }), at);
    const expected = renderStar(comet, {
      ...at,
      x: at.x + offset * Math.cos(turn),
      y: at.y + offset * Math.sin(turn),
    });
    expectWithin(largestDifference(got.data, expected.data), 0, 2e-9, 'the bounds of both');
  });
});

test('first and second moments are those of the wavefront slopes, blur and pixel', () => {
  for (const pupil of [plain, awkward])
    for (const wavefront of [mixed, { focusShiftUm: -250 }, { zernikesNm: { 7: 120, 10: -60 } }]) {
      const got = lightMoments(renderStar(rays(pupil, wavefront), at).data, at.width);
      const exact = lightCentroid({ pupil, wavefront, fNumber: 5 });
      const blur = (2 / (2 * Math.sqrt(2 * Math.log(2)))) ** 2 + 1 / 12;
      const why = '1e-10 of the flux at some 30 px';
      expectWithin(got.x - at.x, exact.xUm / 3.75, 1e-7, why);
      expectWithin(got.y - at.y, exact.yUm / 3.75, 1e-7, why);
      expectWithin(got.xx, exact.xxUm2 / 3.75 ** 2 + blur, 1e-6, why);
      expectWithin(got.yy, exact.yyUm2 / 3.75 ** 2 + blur, 1e-6, why);
      expectWithin(got.xy, exact.xyUm2 / 3.75 ** 2, 1e-6, why);
    }
});

test('beyond focus the rays have crossed: what is cut off at +x is missing at -x', () => {
  const pupil: Pupil = { obstructionRatio: 0, clip: { distance: 0 } };
  for (const [focusShiftUm, side] of [
    [300, 1],
    [-300, -1],
  ] as const) {
    const image = renderStar(rays(pupil, { focusShiftUm }), { ...at, x: 30, y: 25 });
    // half a disc of 8 px radius, 4 px and so 4.7 rms widths of the blur from its straight edge
    expectWithin(
      image.get(25, 30 + 4 * side),
      2 / (Math.PI * 64),
      1e-6,
      'uniform there but for the blurred edges',
    );
    expectWithin(image.get(25, 30 - 4 * side), 0, 1e-6, 'dark there');
  }
});

describe('the wave image of the same wavefront', () => {
  // The mean slope of the wavefront is the center of mass of both (Teague 1982, JOSA 72, 1199; Mahajan 1985,
  // JOSA A 2, 833, from memory). The second moment of a wave image grows with the window, but by an amount
  // that depends on the pupil's edges alone: so wave less rays is one number for every wavefront. A window of
  // half-width R lambda F lacks some 0.45 / R of the moments that aberrations add: 1 % for the 96 lambda F
  // here.
  const window = { width: 221, height: 209, x: 110, y: 104, flux: 1 };
  const common = { fNumber: 5, pixelSizeUm: 2.4 };
  const both = (pupil: Pupil, wavefront: Wavefront): { wave: LightMoments; ray: LightMoments } => {
    const wave: StarShape = {
      kind: 'diffraction',
      pupil,
      wavefront,
      ...common,
      wavelengthNm: 550,
      accuracy: { minPupilSamples: 256 },
    };
    return {
      wave: lightMoments(renderStar(wave, window).data, window.width),
      ray: lightMoments(renderStar(rays(pupil, wavefront, common), window).data, window.width),
    };
  };
  for (const pupil of [plain, { ...plain, clip: { distance: 0.5, angleDeg: 20 } }])
    test(`has the same first, and a constant more of the second moments: ${JSON.stringify(pupil)}`, () => {
      const perfect = both(pupil, {});
      for (const wavefront of [
        { focusShiftUm: 200 },
        { seidelNm: { coma: 600, angleDeg: 30 } },
        { focusShiftUm: 150, seidelNm: { astigmatism: 500, coma: 300, angleDeg: 75 } },
      ]) {
        const { wave, ray } = both(pupil, wavefront);
        for (const axis of ['x', 'y'] as const) {
          const moved = ray[axis] - perfect.ray[axis];
          expectWithin(
            wave[axis] - perfect.wave[axis],
            moved,
            0.01 * Math.abs(moved) + 0.01,
            'px: 1 % of the shift is beyond the window, and its edge cuts moved tails unevenly',
          );
        }
        for (const axis of ['xx', 'yy', 'xy'] as const) {
          const added = ray[axis] - perfect.ray[axis];
          expectWithin(
            wave[axis] - perfect.wave[axis],
            added,
            0.015 * (ray.xx + ray.yy) + 0.05,
            'px^2: 1 % of the moments is beyond the window, as is half of that of the tails that moved',
          );
        }
      }
    });
});

test('a bad field is named; too many rays are refused before they are traced', () => {
  const plan =
    (pupil: object, wavefront: object, fields: object = {}) =>
    () =>
      prepareStar(rays(pupil as Pupil, wavefront as Wavefront, fields), size);
  expect(plan({ obstructionRatio: 1.2 }, {})).toThrow('pupil.obstructionRatio must be in [0, 1), got 1.2');
  expect(plan(plain, { focusShiftUm: Number.NaN })).toThrow('wavefront.focusShiftUm must be a finite number');
  expect(plan({ obstructionRatio: 0, clip: { distance: -1.1 } }, {})).toThrow(
    'pupil must pass light, got none',
  );
  expect(plan(plain, { focusShiftUm: 1e6 }, { blurFwhmPx: 1 })).toThrow(
    'wavefront must spread the light over fewer widths of the blur: more than',
  );
});

test('drawn for noise, each pixel is within 1e-5 of the flux of the exact one', () => {
  const random = randomStream('fineness');
  const between = (low: number, high: number): number => low + (high - low) * random.uniform();
  let worst = 0;
  for (let i = 0; i < 30; i++) {
    const clip = { distance: between(0.2, 1), angleDeg: between(0, 360) };
    const seidelNm = {
      coma: between(-3000, 3000),
      astigmatism: between(-500, 500),
      angleDeg: between(0, 360),
    };
    const shape: RayShape = {
      kind: 'rays',
      pupil: { obstructionRatio: between(0, 0.5), clip },
      wavefront: { focusShiftUm: between(-800, 800), seidelNm },
      fNumber: between(4, 10),
      pixelSizeUm: 3.75,
      blurFwhmPx: between(1, 5),
    };
    const place = { width: 81, height: 79, x: 40.3, y: 38.8, flux: 1 };
    const exact = renderStar(shape, place).data;
    renderStar({ ...shape, fineness: 'noisy' }, place).data.forEach((value, k) => {
      worst = Math.max(worst, Math.abs(value - exact[k]));
    });
  }
  expect(worst).toBeLessThan(1e-5);
  expect(worst).toBeGreaterThan(0);
});
