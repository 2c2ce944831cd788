/** The wavefront fit on rings drawn by the renderer, which traces rays of its own. */
import { createImage, type Image, randomStream, renderStar, type StarShape } from '@holdfast/psf';
import { fitWavefront, type WavefrontFound } from '@holdfast/sim';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../../expect-within.ts';

const beam = { fNumber: 5, pixelSizeUm: 3.75 };
const terms = { 5: 60, 6: -40, 7: 100, 8: -180, 9: 30, 10: -20, 11: 50 } as const;
/** A ring of 30 px: 4 sqrt(3) 2 F Z4 is its radius. */
const defocus = -(15 / (4 * Math.sqrt(3))) * ((500 * beam.pixelSizeUm) / beam.fNumber);
const zernikesNm = { ...terms, 4: defocus };

function star(clip: { distance: number; angleDeg: number } | undefined): StarShape {
  const pupil = { obstructionRatio: 0.35, ...(clip ? { clip } : {}) };
  return { kind: 'rays', pupil, wavefront: { zernikesNm }, ...beam, blurFwhmPx: 3, fineness: 'noisy' };
}

const at = { x: 31.3, y: 30.8 };
const clipped = { distance: 0.75, angleDeg: 40 };
const drawn = (clip?: typeof clipped): Image => {
  const image = renderStar(star(clip), { width: 64, height: 64, ...at, flux: 60000 });
  for (let k = 0; k < image.data.length; k++) image.data[k] += 20;
  return image;
};
const [whole, cut] = [drawn(), drawn(clipped)];

function found(expected: Image, seed: number, side: 'beyond' | 'before' = 'beyond'): WavefrontFound {
  const photon = randomStream(seed, 'wavefront', 'photon');
  const read = randomStream(seed, 'wavefront', 'read');
  const frame = createImage(64, 64);
  for (let k = 0; k < frame.data.length; k++)
    frame.data[k] = photon.poisson(expected.data[k]!) + 3 * read.normal();
  const fit = fitWavefront(frame, { noise: { readNoiseE: 3 }, ...beam, side });
  if (!fit.ok) throw new Error(fit.reason);
  return fit;
}

test('without noise every term is what was drawn, and the ring of its defocus', () => {
  const fit = fitWavefront(whole, { noise: { readNoiseE: 3 }, ...beam });
  if (!fit.ok) throw new Error(fit.reason);
  for (const { noll, nm } of fit.terms)
    expectWithin(nm.value, (zernikesNm as Record<number, number>)[noll]!, 2, 'weak expectations');
  expectWithin(fit.outerDiameterPx.value, 30, 0.1, 'the same');
  expectWithin(fit.chiefRay.x.value, at.x, 0.1, 'the same');
  expectWithin(fit.fluxE.value / 60000, 1, 0.005, 'the same');
});

describe('64 px, 60000 electrons, coma, astigmatism, trefoil', () => {
  const trials = 10;
  test.each([
    ['the whole beam', whole, undefined],
    ['an edge at 0.75', cut, clipped],
  ] as const)('%s: stated errors hold', (_, expected, clip) => {
    const fits = Array.from({ length: trials }, (_, seed) => found(expected, seed));
    const offs = fits.flatMap((fit) => [
      ...fit.terms.map(
        ({ noll, nm }) => (nm.value - (zernikesNm as Record<number, number>)[noll]!) / nm.standardError,
      ),
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

test('bad calls and stars without a ring', () => {
  const noise = { readNoiseE: 3 };
  expect(() => fitWavefront(whole, { noise, ...beam, model: 'diffraction' })).toThrow(/wavelengthNm/);
  expect(() => fitWavefront(whole, { noise, ...beam, fNumber: 0 })).toThrow(/fNumber/);
  const point = renderStar(
    { kind: 'gaussian', fwhmPx: 3 },
    { width: 32, height: 32, x: 15, y: 16, flux: 9000 },
  );
  expect(fitWavefront(point, { noise, ...beam })).toEqual({ ok: false, reason: 'no-ring' });
});
