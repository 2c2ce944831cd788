/** Wavefronts: the polynomials that they stand for, their averages over a pupil, and where the light goes. */
import {
  type DiffractionShape,
  lightCentroid,
  type Pupil,
  prepareStar,
  strehlRatio,
  type Wavefront,
  wavefrontRmsNm,
  wavefrontZernikes,
} from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { wavefrontSurface } from '../../packages/psf/src/waves/wavefront.ts';
import { expectWithin } from '../expect-within.ts';
import { lightMoments } from './light-moments.ts';

const clear: Pupil = { obstructionRatio: 0 };

function valueAt(wavefront: Wavefront, x: number, y: number, fNumber = 5): number {
  const point = { value: 0, slopeX: 0, slopeY: 0 };
  wavefrontSurface(wavefront, fNumber).evaluate(x, y, point);
  return point.value;
}

const places = [
  [0, 0],
  [1, 0],
  [0.3, -0.6],
  [-0.5, 0.8],
] as const;

describe('the polynomials', () => {
  test('Seidel terms are what they add at the rim, in the direction of the star', () => {
    const angle = (40 * Math.PI) / 180;
    const polynomials = {
      tilt: (r: number, c: number) => c * r ** 0,
      defocus: (r: number) => r * r,
      fieldCurvature: (r: number) => r * r,
      coma: (r: number, c: number) => r * r * c,
      astigmatism: (_: number, c: number) => c * c,
      spherical: (r: number) => r ** 4,
    };
    for (const [name, polynomial] of Object.entries(polynomials))
      for (const [x, y] of places) {
        const along = x * Math.cos(angle) + y * Math.sin(angle);
        const value = valueAt({ seidelNm: { [name]: 321, angleDeg: 40 } }, x, y);
        expectWithin(value, 321 * polynomial(Math.hypot(x, y), along), 1e-10, `rounding (${name})`);
      }
  });

  test('a sensor beyond focus sees the rim of the wave early: W = -dz rho^2 / (8 F^2)', () => {
    for (const [x, y] of places)
      expectWithin(valueAt({ focusShiftUm: 500 }, x, y), -2500 * (x * x + y * y), 1e-9, 'rounding');
    expectWithin(
      wavefrontZernikes({ focusShiftUm: 500 }, 5)[4],
      -721.6878364870322,
      1e-9,
      '-2500 / (2 sqrt 3)',
    );
  });

  test('all parts add', () => {
    const parts: Wavefront[] = [
      { focusShiftUm: 33 },
      { zernikesNm: { 4: 20, 8: -30, 22: 5 } },
      { seidelNm: { coma: 40, astigmatism: 50, angleDeg: 10 } },
    ];
    const together = Object.assign({}, ...parts);
    for (const [x, y] of places) {
      const sum = parts.reduce((total, part) => total + valueAt(part, x, y), 0);
      expectWithin(valueAt(together, x, y), sum, 1e-10, 'rounding');
    }
  });

  test.each<[string, unknown]>([
    ['wavefront.focusShiftUm must be a finite number, got NaN', { focusShiftUm: Number.NaN }],
    [
      'the index 0 of wavefront.zernikesNm must be a whole number from 1 to 5050, got 0',
      { zernikesNm: { 0: 1 } },
    ],
    ['wavefront.zernikesNm[4] must be a finite number, got Infinity', { zernikesNm: { 4: Infinity } }],
    ['wavefront.seidelNm.coma must be a finite number, got "1"', { seidelNm: { coma: '1' } }],
    ['wavefront must be an object, got null', null],
  ])('refuses: %s', (message, wavefront) => {
    expect(() => wavefrontZernikes(wavefront as Wavefront, 5)).toThrow(message);
  });
});

describe('averages over the light of a pupil', () => {
  test('Zernike terms have their rms over the full circle, and add in squares', () => {
    const wavefront = { zernikesNm: { 1: 999, 4: 30, 8: 40, 37: 120 } };
    expectWithin(wavefrontRmsNm({ pupil: clear, wavefront, fNumber: 5 }), 130, 1e-9, 'piston does not count');
  });

  test('a focus shift sends each pupil point -(dz / 2 F) times itself', () => {
    const pupil: Pupil = {
      obstructionRatio: 0.35,
      obstructionCenter: { x: 0.1, y: 0 },
      illumination: { gradient: 0.5, angleDeg: 90 },
      clip: { distance: 0.6, angleDeg: -30 },
    };
    const light = lightCentroid({ pupil, wavefront: { focusShiftUm: 400 }, fNumber: 5 });
    const more = lightCentroid({ pupil, wavefront: { seidelNm: { tilt: 100 } }, fNumber: 5 });
    expectWithin(more.xUm, 1, 1e-12, '2 F times 100 nm');
    expectWithin(more.yUm, 0, 1e-12, 'no slope along y');
    expectWithin(more.xxUm2, 0, 1e-12, 'all light in one point');
    // The same by the definition, on a fine grid of points.
    const sum = new Float64Array(4);
    const n = 1200;
    for (let j = 0; j < n; j++)
      for (let i = 0; i < n; i++) {
        const x = (2 * i + 1) / n - 1;
        const y = (2 * j + 1) / n - 1;
        const open =
          x * x + y * y < 1 &&
          (x - 0.1) ** 2 + y * y > 0.35 ** 2 &&
          x * Math.cos(Math.PI / 6) - y * Math.sin(Math.PI / 6) < 0.6;
        if (!open) continue;
        const weight = 1 + 0.5 * y;
        sum[0] += weight;
        sum[1] += weight * -40 * x;
        sum[2] += weight * -40 * y;
        sum[3] += weight * 1600 * x * x;
      }
    expectWithin(light.xUm, sum[1] / sum[0], 2e-3, 'the edges of a count on 1200 x 1200 points');
    expectWithin(light.yUm, sum[2] / sum[0], 2e-3, 'the edges of a count on 1200 x 1200 points');
    expectWithin(light.xxUm2, sum[3] / sum[0] - (sum[1] / sum[0]) ** 2, 0.1, 'the edges of a count');
  });

  test('a small aberration lowers the Strehl ratio by (2 pi rms / lambda)^2 (Marechal)', () => {
    const pupil: Pupil = { obstructionRatio: 0.3, illumination: { radial: -0.4 } };
    const ratio = strehlRatio({
      pupil,
      wavefront: { zernikesNm: { 11: 0.5 } },
      fNumber: 5,
      wavelengthNm: 500,
    });
    // Amplitudes weigh the mean, not intensities: with weights sqrt(1 - 0.4 rho^2) the rms is that of the
    // same wave over a pupil of that intensity, here integrated on circles.
    let [w, m, s] = [0, 0, 0];
    for (let k = 0; k < 20000; k++) {
      const rho = 0.3 + (0.7 * (k + 0.5)) / 20000;
      const z = 0.5 * Math.sqrt(5) * (6 * rho ** 4 - 6 * rho * rho + 1);
      const weight = rho * Math.sqrt(1 - 0.4 * rho * rho);
      w += weight;
      m += weight * z;
      s += weight * z * z;
    }
    const variance = s / w - (m / w) ** 2;
    expectWithin(1 - ratio, ((2 * Math.PI) / 500) ** 2 * variance, 1e-9, 'fourth power of the phase');
    const perfect = strehlRatio({ pupil, wavefront: {}, fNumber: 5, wavelengthNm: 500 });
    expectWithin(perfect, 1, 1e-13, 'rounding');
  });
});

describe('where the light goes', () => {
  const shape: DiffractionShape = {
    kind: 'diffraction',
    pupil: { obstructionRatio: 0 },
    wavefront: {},
    fNumber: 5,
    wavelengthNm: 600,
    pixelSizeUm: 1.5,
    accuracy: { minPupilSamples: 64 },
  };
  const width = 61;
  const height = 55;
  const at = { x: 29, y: 26 };
  const draw = (changes: Partial<DiffractionShape>): Float64Array => {
    const out = new Float64Array(width * height);
    prepareStar({ ...shape, ...changes }, { width, height }).renderInto(out, at.x, at.y, 1);
    return out;
  };
  const brightest = (image: Float64Array): { x: number; y: number } => {
    const k = image.indexOf(Math.max(...image));
    return { x: k % width, y: Math.floor(k / width) };
  };
  const moment = (image: Float64Array): { x: number; y: number } => {
    const { x, y } = lightMoments(image, width);
    return { x: x - at.x, y: y - at.y };
  };

  test('a wave that is late toward +x sends the star to +x, by 2 F times its slope', () => {
    // 2 F 1200 nm = 12 um = 8 px; Z2 = 2 rho cos theta.
    expect(brightest(draw({ wavefront: { zernikesNm: { 2: 600 } } }))).toEqual({ x: at.x + 8, y: at.y });
    expect(brightest(draw({ wavefront: { zernikesNm: { 3: 600 } } }))).toEqual({ x: at.x, y: at.y + 8 });
    expect(brightest(draw({ wavefront: { seidelNm: { tilt: -1200, angleDeg: 90 } } }))).toEqual({
      x: at.x,
      y: at.y - 8,
    });
  });

  test('the tail of the comet points where the coma says, from the bright point outwards', () => {
    for (const [angleDeg, dx, dy] of [
      [0, 1, 0],
      [90, 0, 1],
      [180, -1, 0],
    ]) {
      const image = draw({ wavefront: { seidelNm: { coma: 900, angleDeg } } });
      const bright = brightest(image);
      const mass = moment(image);
      const tail = (mass.x + at.x - bright.x) * dx + (mass.y + at.y - bright.y) * dy;
      expect(tail).toBeGreaterThan(2);
      expect((bright.x - at.x) * dx + (bright.y - at.y) * dy).toBeGreaterThan(0);
    }
    const zernike = draw({ wavefront: { zernikesNm: { 7: 100 } } });
    expect(moment(zernike).y).toBeGreaterThan(0.5);
    expect(Math.abs(moment(zernike).x)).toBeLessThan(0.01);
  });

  test('before focus a clipped beam shows the pupil upright, beyond it turned by half a turn', () => {
    const pupil: Pupil = { obstructionRatio: 0, clip: { distance: 0 } }; // the half at -x is left
    const before = draw({ pupil, wavefront: { focusShiftUm: -200 } });
    const beyond = draw({ pupil, wavefront: { focusShiftUm: 200 } });
    const share = (image: Float64Array): number => {
      let right = 0;
      image.forEach((value, k) => {
        if (k % width > at.x) right += value;
      });
      return right / image.reduce((sum, value) => sum + value, 0);
    };
    // The edge lies on the axis and diffracts to both sides: nine tenths, not all, is on one.
    expect(share(before)).toBeLessThan(0.15);
    expect(share(beyond)).toBeGreaterThan(0.85);
    const y = draw({
      pupil: { obstructionRatio: 0, clip: { distance: 0, angleDeg: 90 } },
      wavefront: { focusShiftUm: 200 },
    });
    expect(moment(y).y).toBeGreaterThan(3);
    expect(Math.abs(moment(y).x)).toBeLessThan(0.1);
  });

  test('spherical aberration of a late rim focuses the rim further away', () => {
    // W = +rho^4 is undone, near the rim, by W = -2 rho^2: a sensor beyond focus.
    const spherical = { spherical: 600 };
    const peak = (defocus: number): number =>
      Math.max(...draw({ wavefront: { seidelNm: { ...spherical, defocus } } }));
    expect(peak(-600)).toBeGreaterThan(2 * peak(0));
    expect(peak(0)).toBeGreaterThan(peak(600));
  });
});
