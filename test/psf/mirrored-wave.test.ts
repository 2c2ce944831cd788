/**
 * A wave that is the same above and below the middle of the pupil is worked out above alone, and so is its
 * light. That must give what working out both halves gives, but for rounding.
 */
import { type Pupil, prepareStar, randomStream } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { writePupilWave } from '../../packages/psf/src/waves/pupil-grid.ts';
import { zernikeOrder, zernikeSum } from '../../packages/psf/src/waves/zernike.ts';

const evenPupils: Record<string, Pupil> = {
  clear: { obstructionRatio: 0 },
  ring: { obstructionRatio: 0.35 },
  'an obstruction shifted along x, three vanes': {
    obstructionRatio: 0.3,
    obstructionCenter: { x: 0.1, y: 0 },
    vanes: { count: 3, widthRatio: 0.02, angleDeg: 60 },
  },
  'a beam clipped at the left': { obstructionRatio: 0.3, clip: { distance: 0.4, angleDeg: -180 } },
  'a footprint': { obstructionRatio: 0.3, footprint: { width: 1.2, height: 0.9, x: 0.2, angleDeg: 90 } },
  'a gradient of light along x': { obstructionRatio: 0.3, illumination: { gradient: 0.3, radial: 0.2 } },
};

const otherPupils: Record<string, Pupil> = {
  'a shifted obstruction, vanes': {
    obstructionRatio: 0.3,
    obstructionCenter: { x: 0.04, y: 0.09 },
    vanes: { count: 3, widthRatio: 0.02, angleDeg: 17 },
  },
  'three vanes, none along x': { obstructionRatio: 0.3, vanes: { count: 3, widthRatio: 0.02, angleDeg: 30 } },
  'a clipped beam': { obstructionRatio: 0.3, clip: { distance: 0.4, angleDeg: 70 } },
  'a beam clipped above': { obstructionRatio: 0.3, clip: { distance: 0.4, angleDeg: 90 } },
  'a shifted footprint': { obstructionRatio: 0.3, footprint: { width: 1.2, height: 0.9, y: 0.2 } },
  'a turned footprint': { obstructionRatio: 0.3, footprint: { width: 1.2, height: 0.9, angleDeg: 45 } },
  'a gradient of light': { obstructionRatio: 0.3, illumination: { gradient: 0.3, angleDeg: 50 } },
};

/** The wave, and how often the surface was evaluated. */
function waveOf(pupil: Pupil, coefficients: Float64Array, count: number, mirrors: boolean) {
  const surface = zernikeSum(coefficients);
  let evaluations = 0;
  const counted = {
    ...surface,
    isEvenInY: surface.isEvenInY && mirrors,
    evaluateCurved(...at: Parameters<typeof surface.evaluateCurved>) {
      evaluations++;
      surface.evaluateCurved(...at);
    },
  };
  const out = new Float64Array(2 * count * count);
  writePupilWave(out, count, { pupil, surface: counted, wavelengthNm: 550 }, { count, step: 2.03 / count });
  return { out, evaluations };
}

const farthest = (one: Float64Array, other: Float64Array): number =>
  one.reduce((most, value, k) => Math.max(most, Math.abs(value - other[k])), 0);

describe.each([
  ...Object.entries(evenPupils).map(([name, pupil]) => ({ name, pupil, isEven: true })),
  ...Object.entries(otherPupils).map(([name, pupil]) => ({ name, pupil, isEven: false })),
])('$name', ({ name, pupil, isEven }) => {
  test('the wave', () => {
    for (const count of [24, 37, 64])
      for (let i = 0; i < 4; i++) {
        const random = randomStream(name, count, i);
        const coefficients = Float64Array.from({ length: 30 }, (_, noll) => {
          const isSine = noll > 0 && zernikeOrder(noll).m < 0;
          return noll === 0 || (isSine && i > 0) ? 0 : 20 * random.normal();
        });
        const mirrored = waveOf(pupil, coefficients, count, true);
        const plain = waveOf(pupil, coefficients, count, false);
        expect(farthest(mirrored.out, plain.out)).toBeLessThan(1e-12);
        const saves = i > 0 && isEven;
        if (!saves) expect(mirrored.evaluations).toBe(plain.evaluations);
        else expect(mirrored.evaluations).toBeLessThan(0.55 * plain.evaluations);
      }
  });

  test.each([
    { label: 'one color', wavelengthNm: 550 },
    {
      label: 'two colors',
      wavelengthNm: [
        { wavelengthNm: 450, weight: 1 },
        { wavelengthNm: 650, weight: 2 },
      ],
    },
  ])('the image in $label', ({ wavelengthNm }) => {
    const size = { width: 40, height: 36 };
    for (const seeing of [undefined, { fwhmArcsec: 2.5, apertureMm: 200 }]) {
      // A sine term of a billionth of a nanometer: too little to show, enough to have both halves worked out.
      const [image, plain] = [0, 1e-9].map((sineNm) => {
        const out = new Float64Array(size.width * size.height);
        const wavefront = { zernikesNm: { 4: 300, 7: sineNm, 8: 120, 11: -60 } };
        prepareStar(
          {
            ...{ kind: 'diffraction', pupil, wavefront, wavelengthNm, ...(seeing && { seeing }) },
            ...{ fNumber: 6, pixelSizeUm: 3, accuracy: { minPupilSamples: 60 } },
          },
          size,
        ).renderInto(out, 19.3, 17.8, 1);
        return out;
      });
      expect(Math.max(...image)).toBeGreaterThan(1e-3);
      expect(farthest(image, plain)).toBeLessThan(1e-12);
    }
  });
});
