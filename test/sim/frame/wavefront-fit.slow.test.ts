/** Errors of the wavefront fit over ten frames, of which `wavefront-fit.test.ts` has one. */
import { type Image, renderStar, type StarShape } from '@holdfast/psf';
import type { WavefrontFound } from '@holdfast/sim';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../../expect-within.ts';
import { beam, clipped, cut, found, whole, zernikesNm } from './wavefront-star.ts';

describe('64 px, 60000 electrons, coma, astigmatism, trefoil', () => {
  const trials = 10;
  test.each([
    ['the whole beam', whole, undefined],
    ['an edge at 0.75', cut, clipped],
  ] as const)('%s: stated errors hold', (_, expected, clip) => {
    const fits = Array.from({ length: trials }, (_, seed) => found(expected, seed));
    const offs = fits.flatMap((fit) => [
      ...fit.terms.map(({ noll, nm }) => (nm.value - zernikesNm[noll]!) / nm.standardError),
      (fit.outerDiameterPx.value - 30) / fit.outerDiameterPx.standardError,
    ]);
    // 9 values of each fit, which hang together: some 50 free ones of 90, a sigma of 0.066 and 0.03
    const within = (sigmas: number): number =>
      offs.filter((off) => Math.abs(off) < sigmas).length / offs.length;
    expectWithin(within(1), 0.683, 0.2, 'three sigmas');
    expectWithin(within(2), 0.955, 0.09, 'three sigmas');
    for (const fit of fits) {
      if (clip === undefined) expect(fit.clip).toBeUndefined();
      else {
        expectWithin(fit.clip?.distance.value ?? 1, clip.distance, 0.06, 'three of its errors');
        expectWithin(fit.clip?.angleDeg.value ?? 180, clip.angleDeg, 4, 'three of its errors');
      }
    }
  });
});

test('the other side of focus gives the same picture with the even terms negated', () => {
  const drawnBy = (side: 'beyond' | 'before'): { fit: WavefrontFound; image: Image } => {
    const fit = found(cut, 1, side);
    const { pupil, wavefront, blurFwhmPx, chiefRay, fluxE } = fit;
    const shape: StarShape = { kind: 'rays', pupil, wavefront, ...beam, blurFwhmPx: blurFwhmPx.value };
    const place = { x: chiefRay.x.value, y: chiefRay.y.value, flux: fluxE.value };
    return { fit, image: renderStar(shape, { width: 64, height: 64, ...place }) };
  };
  const [beyond, before] = [drawnBy('beyond'), drawnBy('before')];
  expect(before.fit.focusShiftUm.value).toBe(-beyond.fit.focusShiftUm.value);
  expect(beyond.fit.focusShiftUm.value).toBeGreaterThan(0);
  const peak = Math.max(...beyond.image.data);
  const off = beyond.image.data.reduce(
    (most, value, k) => Math.max(most, Math.abs(value - before.image.data[k]!)),
    0,
  );
  expectWithin(off / peak, 0, 1e-6, 'rounding');
});
