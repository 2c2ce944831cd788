/** A wave that is the same above and below the middle of the pupil: worked out above alone, the same bits. */
import { randomStream } from '@holdfast/psf';
import { expect, test } from 'vitest';
import type { Pupil } from '../../packages/psf/src/waves/pupil.ts';
import { writePupilWave } from '../../packages/psf/src/waves/pupil-grid.ts';
import { zernikeOrder, zernikeSum } from '../../packages/psf/src/waves/zernike.ts';

const pupils: Record<string, Pupil> = {
  clear: { obstructionRatio: 0 },
  ring: { obstructionRatio: 0.35 },
  'a shifted obstruction, vanes': {
    obstructionRatio: 0.3,
    obstructionCenter: { x: 0.04, y: 0.09 },
    vanes: { count: 3, widthRatio: 0.02, angleDeg: 17 },
  },
  'a clipped beam': { obstructionRatio: 0.3, clip: { distance: 0.4, angleDeg: 70 } },
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

test.each(Object.entries(pupils))('%s', (name, pupil) => {
  for (const count of [24, 37, 64])
    for (let i = 0; i < 4; i++) {
      const random = randomStream(name, count, i);
      const coefficients = Float64Array.from({ length: 30 }, (_, noll) => {
        const isSine = noll > 0 && zernikeOrder(noll).m < 0;
        return noll === 0 || (isSine && i > 0) ? 0 : 300 * random.normal();
      });
      const mirrored = waveOf(pupil, coefficients, count, true);
      const plain = waveOf(pupil, coefficients, count, false);
      expect(mirrored.out).toEqual(plain.out);
      const saves = i > 0 && pupil.illumination === undefined;
      if (!saves) expect(mirrored.evaluations).toBe(plain.evaluations);
      else expect(mirrored.evaluations).toBeLessThan(0.85 * plain.evaluations);
    }
});
