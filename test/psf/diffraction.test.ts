/**
 * Diffraction images: the contract of every shape, brute force over the pupil, and what each setting
 * promises.
 */
import {
  type DiffractionShape,
  diffractionSampling,
  lightCentroid,
  type Pupil,
  prepareStar,
  type Wavefront,
} from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { imageSpectrum } from '../../packages/psf/src/diffraction/image-spectrum.ts';
import { gaussLegendre } from '../../packages/psf/src/numerics/quadrature.ts';
import { pupilNodes } from '../../packages/psf/src/waves/pupil-moments.ts';
import { wavefrontSurface } from '../../packages/psf/src/waves/wavefront.ts';
import { expectWithin } from '../expect-within.ts';
import { describeShapeContract, type ShapeFacts } from './shape-contract.ts';

/** lambda F = 2 um. */
const perfect: DiffractionShape = {
  kind: 'diffraction',
  pupil: { obstructionRatio: 0 },
  wavefront: {},
  fNumber: 4,
  wavelengthNm: 500,
  pixelSizeUm: 2,
};

const ring: DiffractionShape = {
  ...perfect,
  pupil: { obstructionRatio: 0.35, vanes: { count: 3, widthRatio: 0.01, angleDeg: 12 } },
  wavefront: { focusShiftUm: 120 },
  pixelSizeUm: 4,
  seeing: { fwhmArcsec: 1.5, apertureMm: 250 },
};

const comet: DiffractionShape = {
  ...perfect,
  pupil: {
    obstructionRatio: 0.3,
    obstructionCenter: { x: 0.05, y: 0 },
    clip: { distance: 0.6, angleDeg: 25 },
    illumination: { gradient: 0.2, angleDeg: -40 },
  },
  wavefront: {
    focusShiftUm: -60,
    zernikesNm: { 11: 30 },
    seidelNm: { coma: 300, astigmatism: 100, angleDeg: 70 },
  },
  wavelengthNm: [
    { wavelengthNm: 450, weight: 1 },
    { wavelengthNm: 550, weight: 2 },
  ],
  pixelSizeUm: 3,
  seeing: { friedParameterMm: 90, apertureMm: 200, outerScaleMm: 20000 },
};

/** x and y exchanged: directions a become 90 - a. */
function transposed(shape: DiffractionShape): DiffractionShape {
  const turned = <T extends { angleDeg?: number }>(part: T): T => ({
    ...part,
    angleDeg: 90 - (part.angleDeg ?? 0),
  });
  const { obstructionCenter, vanes, clip, illumination, ...rest } = shape.pupil;
  return {
    ...shape,
    pupil: {
      ...rest,
      ...(obstructionCenter && { obstructionCenter: { x: obstructionCenter.y, y: obstructionCenter.x } }),
      ...(vanes && { vanes: turned(vanes) }),
      ...(clip && { clip: turned(clip) }),
      ...(illumination && { illumination: turned(illumination) }),
    },
    wavefront: {
      ...shape.wavefront,
      ...(shape.wavefront.seidelNm && { seidelNm: turned(shape.wavefront.seidelNm) }),
    },
  };
}

const offsetOf = (shape: DiffractionShape): { x: number; y: number } => {
  const { xUm, yUm } = lightCentroid(shape);
  return { x: xUm / shape.pixelSizeUm, y: yUm / shape.pixelSizeUm };
};

const factsOf = (shape: DiffractionShape): ShapeFacts => ({
  reachPx: 24,
  outside: 0.02,
  pixelError: 2e-6,
  momentErrorPx: 0.06,
  centroidOffset: offsetOf(shape),
  transposed: transposed(shape),
  doubled: { ...shape, pixelSizeUm: shape.pixelSizeUm / 2 },
  refused: [
    ['fNumber', 0.4],
    ['fNumber', '5'],
    ['pixelSizeUm', 0],
    ['wavelengthNm', Number.NaN],
    ['wavelengthNm', [{ wavelengthNm: 'red', weight: 1 }]],
    ['pupil', 'round'],
    ['wavefront', undefined],
    ['accuracy', { pixelError: 'small' }],
  ],
});

// Sharp edges throw light far out: the pull of what lies beyond an uneven window is some hundredths of lambda
// F.
for (const [name, shape] of Object.entries({
  'a perfect wave, lambda F = 1 px': perfect,
  'a ring through the air': ring,
  'a clipped comet in two colors': comet,
})) {
  const coarse = { ...shape, accuracy: { minPupilSamples: 64 } }; // for speed
  describeShapeContract(name, coarse, factsOf(coarse));
}

function draw(shape: DiffractionShape, width: number, height: number, x: number, y: number): Float64Array {
  const out = new Float64Array(width * height);
  prepareStar(shape, { width, height }).renderInto(out, x, y, 1);
  return out;
}

describe('against brute force: |integral over the pupil|^2 at many points of a pixel', () => {
  const clipped: Pupil = {
    obstructionRatio: 0.35,
    obstructionCenter: { x: 0.05, y: -0.02 },
    clip: { distance: 0.7, angleDeg: 25 },
    illumination: { gradient: 0.3, angleDeg: 100, radial: -0.2 },
  };
  const waves: Record<string, Wavefront> = {
    'a perfect wave': {},
    'three waves of defocus': { seidelNm: { defocus: 1500 } },
    'a mixture': { seidelNm: { defocus: -1000, coma: 250, astigmatism: 200, spherical: 100, angleDeg: 40 } },
  };
  const cases = [clipped, { obstructionRatio: 0 }].flatMap((pupil) =>
    Object.entries(waves).map(([name, wavefront]) => ({
      name: `${name}, ${pupil === clipped ? 'clipped' : 'clear'} pupil`,
      pupil,
      wavefront,
    })),
  );
  test.each(cases)('$name', ({ pupil, wavefront }) => {
    const shape = { ...perfect, pupil, wavefront };
    const size = { width: 30, height: 26, x: 14.3, y: 12.6 };
    const ours = draw(shape, size.width, size.height, size.x, size.y);
    const density = amplitudes(shape);
    // Pixels of the core, of the ring and of the faint surroundings out to 9 lambda F.
    for (const [i, j] of [
      [14, 13],
      [15, 12],
      [17, 14],
      [20, 13],
      [14, 20],
      [5, 10],
    ]) {
      const direct = pixelOf(density, i - size.x, j - size.y);
      expectWithin(ours[j * size.width + i], direct, 4e-6, 'the stated accuracy of 128 samples');
    }
  });

  /** Intensity at a point, in shares of the flux per (lambda F)^2, by quadrature over the pupil. */
  function amplitudes(shape: DiffractionShape): (x: number, y: number) => number {
    const { illumination, ...open } = shape.pupil;
    const { x, y, weights } = pupilNodes(open, 70);
    const { gradient = 0, angleDeg = 0, radial = 0 } = illumination ?? {};
    const surface = wavefrontSurface(shape.wavefront, shape.fNumber);
    const point = { value: 0, slopeX: 0, slopeY: 0 };
    const phase = new Float64Array(x.length);
    const amplitude = new Float64Array(x.length);
    let light = 0;
    for (let k = 0; k < x.length; k++) {
      surface.evaluate(x[k], y[k], point);
      phase[k] = (2 * Math.PI * point.value) / 500;
      const along = x[k] * Math.cos((angleDeg * Math.PI) / 180) + y[k] * Math.sin((angleDeg * Math.PI) / 180);
      const intensity = 1 + gradient * along + radial * (x[k] ** 2 + y[k] ** 2);
      amplitude[k] = weights[k] * Math.sqrt(intensity);
      light += weights[k] * intensity;
    }
    return (u, v) => {
      let re = 0;
      let im = 0;
      for (let k = 0; k < phase.length; k++) {
        const angle = phase[k] - Math.PI * (u * x[k] + v * y[k]);
        re += amplitude[k] * Math.cos(angle);
        im += amplitude[k] * Math.sin(angle);
      }
      return (re * re + im * im) / (4 * light);
    };
  }

  function pixelOf(density: (x: number, y: number) => number, x: number, y: number): number {
    const { nodes, weights } = gaussLegendre(5);
    let sum = 0;
    for (let b = 0; b < 5; b++)
      for (let a = 0; a < 5; a++)
        sum += (weights[a] * weights[b] * density(x + nodes[a] / 2, y + nodes[b] / 2)) / 4;
    return sum;
  }
});

describe('what the plan promises', () => {
  test('no more than 1e-6 of the flux would have been negative', () => {
    for (const shape of [
      perfect,
      ring,
      comet,
      { ...perfect, pixelSizeUm: 5, wavefront: { focusShiftUm: 90 } },
    ]) {
      const { periodPx } = diffractionSampling(shape);
      const whole = draw(shape, periodPx, periodPx, periodPx / 2 - 0.5, periodPx / 2 - 0.5);
      const sum = whole.reduce((total, value) => total + value, 0);
      // All pixels of a period sum to the coefficient of the wave that is none: what exceeds it was cut off
      // below 0.
      const cut = sum - drawnLight(shape);
      expect(cut).toBeGreaterThan(-1e-9);
      expect(cut).toBeLessThan(1e-6);
    }
  });

  test('a symmetric star has its center of mass exactly where it is asked for', () => {
    const { x, y } = { x: 40.37, y: 31.81 };
    const plan = prepareStar(perfect, { width: 81, height: 63 });
    const out = new Float64Array(81 * 63);
    plan.renderInto(out, x, y, 1);
    const mirrored = new Float64Array(81 * 63);
    plan.renderInto(mirrored, 80 - x, 62 - y, 1);
    for (let k = 0; k < out.length; k++)
      expectWithin(
        mirrored[out.length - 1 - k],
        out[k],
        1e-15,
        'rounding: the image is its own mirror image',
      );
  });

  test('leaving out the finest waves changes no pixel by more than the stated share', () => {
    const size = [40, 34, 18.2, 17.7] as const;
    const exact = draw({ ...ring, accuracy: { pixelError: 0 } }, ...size);
    for (const pixelError of [1e-5, 1e-7]) {
      const ours = draw({ ...ring, accuracy: { pixelError } }, ...size);
      let most = 0;
      for (let k = 0; k < ours.length; k++) most = Math.max(most, Math.abs(ours[k] - exact[k]));
      expect(most).toBeLessThan(pixelError);
      expect(most).toBeGreaterThan(0);
    }
  });

  test('more pupil samples bring the image nearer to the finest one', () => {
    const size = [30, 26, 14.3, 12.6] as const;
    const shape = { ...ring, pixelSizeUm: 2, seeing: undefined };
    const { seeing: _, ...sharp } = shape;
    const reference = draw({ ...sharp, accuracy: { minPupilSamples: 512 } }, ...size);
    const error = (minPupilSamples: number): number => {
      const ours = draw({ ...sharp, accuracy: { minPupilSamples } }, ...size);
      return ours.reduce((most, value, k) => Math.max(most, Math.abs(value - reference[k])), 0);
    };
    const [coarse, middle, fine] = [error(64), error(128), error(256)];
    expect(coarse).toBeLessThan(3e-5);
    expect(middle).toBeLessThan(coarse / 2);
    expect(fine).toBeLessThan(middle / 2);
  });

  test('a band is the weighted sum of its wavelengths', () => {
    const size = [30, 26, 14.3, 12.6] as const;
    const { seeing: _, ...sharp } = comet;
    for (const shape of [comet, sharp]) {
      const alone = (wavelengthNm: number): Float64Array => draw({ ...shape, wavelengthNm }, ...size);
      const [blue, green] = [alone(450), alone(550)];
      const band = draw(shape, ...size);
      for (let k = 0; k < band.length; k++)
        expectWithin(
          band[k],
          (blue[k] + 2 * green[k]) / 3,
          1e-6,
          'a longer transform for the shorter wavelength',
        );
    }
  });

  test('weights of a band may have any sum', () => {
    const band = [450, 500, 600].map((wavelengthNm) => ({ wavelengthNm, weight: 7 }));
    const light = band.map((sample) => ({ ...sample, weight: 1 / 3 }));
    const ours = draw({ ...perfect, wavelengthNm: band }, 12, 9, 5, 4);
    draw({ ...perfect, wavelengthNm: light }, 12, 9, 5, 4).forEach((value, k) => {
      expectWithin(ours[k], value, 1e-15, 'rounding');
    });
  });

  test('the light that is left out is what the knob says: some 0.4 / ((1 - obstruction) samples)', () => {
    for (const obstructionRatio of [0, 0.5])
      for (const minPupilSamples of [32, 64, 128]) {
        const shape = {
          ...perfect,
          pupil: { obstructionRatio },
          pixelSizeUm: 1,
          accuracy: { minPupilSamples },
        };
        const left = 1 - drawnLight(shape);
        const { pupilSamples } = diffractionSampling(shape);
        const why = 'the wings of a square of the field, less what folds back; measured 0.32 to 0.40';
        expectWithin(left * (1 - obstructionRatio) * pupilSamples, 0.36, 0.06, why);
      }
  });
});

/** The share of the flux that lies within the field of the calculation: coefficient [0, 0]. */
function drawnLight(shape: DiffractionShape): number {
  const { wavefront, fNumber, wavelengthNm } = shape;
  const band =
    typeof wavelengthNm === 'number'
      ? [{ wavelengthNm, weight: 1 }]
      : wavelengthNm.map((s) => ({ ...s, weight: s.weight / 3 }));
  const { last, coefficients } = imageSpectrum(
    { ...shape, band: band.map((wave) => ({ ...wave, surface: wavefrontSurface(wavefront, fNumber) })) },
    diffractionSampling(shape),
  );
  return coefficients[2 * ((2 * last + 1) * last + last)];
}

describe('sampling', () => {
  test('it is a whole number of pixels wide, and tells how far the star is drawn', () => {
    const sampling = diffractionSampling(ring);
    expect(sampling.periodUm).toBe(sampling.periodPx * 4);
    expect(sampling.pupilSamples).toBeGreaterThanOrEqual(128);
    expect(sampling.pupilSamples).toBe(sampling.periodUm / 2);
    expect(sampling.reachPx).toBe(0.42 * sampling.periodPx);
    expect(sampling.transformSize).toBeGreaterThanOrEqual(2 * sampling.pupilSamples);
  });

  test('too steep a wavefront is refused with the samples needed and allowed', () => {
    // F/4: 3 mm of defocus spread the light over 375 um on either side; / 0.36 = 1042 um, which 768 pixels
    // of 2 um hold: 768 lambda F.
    const far = { ...perfect, wavefront: { focusShiftUm: 3000 } };
    expect(() => diffractionSampling({ ...far, accuracy: { maxPupilSamples: 512 } })).toThrow(
      'pupil samples: needs 768 for light up to 375.0 µm from the star, got accuracy.maxPupilSamples = 512; allow up to 2048, or draw it by rays',
    );
    expect(diffractionSampling({ ...far, accuracy: { maxPupilSamples: 2048 } }).pupilSamples).toBe(768);
  });

  test('strong seeing needs a wide field', () => {
    const blurred = { ...perfect, seeing: { fwhmArcsec: 40, apertureMm: 500 } };
    expect(() => diffractionSampling(blurred)).toThrow(/^pupil samples: needs 4096 for seeing of 387.9 µm/);
    const loose = { ...blurred, accuracy: { foldedLight: 0.1, maxPupilSamples: 2048 } };
    expect(diffractionSampling(loose).periodUm).toBeGreaterThanOrEqual(2 * 387.9 * (0.0899 / 0.1) ** 0.6);
  });

  test.each<[string, object]>([
    ['accuracy.minPupilSamples must be a whole number from 16 to 1024, got 8', { minPupilSamples: 8 }],
    ['accuracy.minPupilSamples must be a whole number from 16 to 64, got 160', { maxPupilSamples: 64 }],
    ['accuracy.maxPupilSamples must be a whole number from 16 to 2048, got 4096', { maxPupilSamples: 4096 }],
    ['accuracy.foldedLight must be in [0.0001, 0.1], got 0', { foldedLight: 0 }],
    ['accuracy.pixelError must be in [0, 0.001], got 1', { pixelError: 1 }],
  ])('refuses: %s', (message, accuracy) => {
    expect(() => diffractionSampling({ ...perfect, accuracy })).toThrow(message);
  });

  test('a band without weight and seeing without aperture are refused', () => {
    const none = [{ wavelengthNm: 500, weight: 0 }];
    expect(() => diffractionSampling({ ...perfect, wavelengthNm: none })).toThrow('positive sum, got 0');
    const seeing = { fwhmArcsec: 2 } as unknown as NonNullable<DiffractionShape['seeing']>;
    expect(() => diffractionSampling({ ...perfect, seeing })).toThrow('seeing.apertureMm must be');
  });
});

describe('far out of focus the wave becomes the geometric ring', () => {
  // Annulus, and an annulus clipped on one side, lambda F = 2 um.
  const pupils: Pupil[] = [
    { obstructionRatio: 0.35 },
    { obstructionRatio: 0.35, clip: { distance: 0.6, angleDeg: 30 } },
  ];
  test.each(pupils)('first moments agree, second moments differ by a constant: %o', (pupil) => {
    const halfWidth = 70.5; // of the window, px = lambda F
    const excess = [0, -120, 120, 200, 280].map((focusShiftUm) => {
      const shape = {
        ...perfect,
        pupil,
        wavefront: { focusShiftUm, seidelNm: { coma: 150, angleDeg: 70 } },
        accuracy: { minPupilSamples: 256 },
      };
      const light = lightCentroid(shape);
      const { x, y, xx, yy } = moments(draw(shape, 141, 141, 70, 70), 141, 70, 70);
      const why = 'the first moment comes near only as 1 / window';
      expectWithin(2 * x, light.xUm, 0.01 * Math.hypot(light.xUm, light.yUm) + 0.005, why);
      expectWithin(2 * y, light.yUm, 0.01 * Math.hypot(light.xUm, light.yUm) + 0.005, why);
      // Radius of the ring over half the window.
      const size = Math.abs(focusShiftUm) / 8 / 2 / halfWidth;
      return { xx: 4 * xx - light.xxUm2, yy: 4 * yy - light.yyUm2, size, geometric: light.xxUm2 };
    });
    expect(excess[4].geometric).toBeGreaterThan(100);
    for (const { xx, yy, size } of excess) {
      const why = 'of the wings of a ring the window cuts off a part that grows as the square of the ring';
      expectWithin(xx / excess[0].xx, 1, 2 * size * size + 1e-3, why);
      expectWithin(yy / excess[0].yy, 1, 2 * size * size + 1e-3, why);
    }
    // One axis, wings of an annulus up to R: R / (pi^2 (1 - obstruction)) (lambda F)^2 (derived from the law
    // of the wings).
    if (!pupil.clip)
      expectWithin(
        excess[0].xx / 4,
        halfWidth / (Math.PI ** 2 * 0.65),
        1.6,
        'the window ends along the other axis too',
      );
  });

  function moments(image: Float64Array, width: number, x0: number, y0: number) {
    let [sum, x, y, xx, yy] = [0, 0, 0, 0, 0];
    image.forEach((value, k) => {
      const dx = (k % width) - x0;
      const dy = Math.floor(k / width) - y0;
      sum += value;
      x += value * dx;
      y += value * dy;
      xx += value * dx * dx;
      yy += value * dy * dy;
    });
    // About the center of mass, per flux of the whole star: the light outside the window is not made up for.
    x /= sum;
    y /= sum;
    return { x, y, xx: xx - sum * x * x, yy: yy - sum * y * y };
  }
});
