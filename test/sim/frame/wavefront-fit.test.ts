/** The wavefront fit on rings drawn by the renderer, which traces rays of its own. */
import { renderStar } from '@holdfast/psf';
import { fitWavefront } from '@holdfast/sim';
import { expect, test } from 'vitest';
import { expectWithin, expectWithinSigmas } from '../../expect-within.ts';
import { at, beam, clipped, cut, found, whole, zernikesNm } from './wavefront-star.ts';

test('without noise every term is what was drawn, and the ring of its defocus', () => {
  const fit = fitWavefront(whole, { noise: { readNoiseE: 3 }, ...beam });
  if (!fit.ok) throw new Error(fit.reason);
  for (const { noll, nm } of fit.terms) expectWithin(nm.value, zernikesNm[noll]!, 2, 'weak expectations');
  expectWithin(fit.outerDiameterPx.value, 30, 0.1, 'the same');
  expectWithin(fit.chiefRay.x.value, at.x, 0.1, 'the same');
  expectWithin(fit.fluxE.value / 60000, 1, 0.005, 'the same');
});

// `wavefront-fit.slow.test.ts` holds the stated errors to those of ten frames, with and without the edge.
test('an edge at 0.75, 60000 electrons: every term within four of its errors', () => {
  const { terms, outerDiameterPx, clip } = found(cut, 0);
  for (const { noll, nm } of terms) expectWithinSigmas(nm.value, zernikesNm[noll]!, nm.standardError, 4);
  expectWithinSigmas(outerDiameterPx.value, 30, outerDiameterPx.standardError, 4);
  expectWithin(clip?.distance.value ?? 1, clipped.distance, 0.06, 'three of its errors');
  expectWithin(clip?.angleDeg.value ?? 180, clipped.angleDeg, 4, 'three of its errors');
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
