/** Moffat profiles: closed forms, and the numbers that follow from them, measured on finely drawn stars. */

import { moffatAlpha, moffatEncircledEnergy, moffatNoiseEquivalentArea, renderStar } from '@holdfast/psf';
import { describe } from 'vitest';
import { checkPublished } from './published.ts';

const trujillo = 'Trujillo et al. 2001, MNRAS 328, 977: FWHM = 2 alpha sqrt(2^(1/beta) - 1)';
const encircled = 'Trujillo et al. 2001, MNRAS 328, 977: EE(r) = 1 - (1 + (r/alpha)^2)^(1 - beta)';
const king = 'King 1983, PASP 95, 163 (from memory): 1 / integral of I^2; derived, confirmed numerically';
const printed = 'half a unit of the last of six decimals';

// beta, then in units of the FWHM: alpha, noise-equivalent area, half-light radius, encircled energy at FWHM
// / 2 and at FWHM, peak. Derived from the profile and confirmed numerically.
const table = [
  [2.5, 0.884564, 4.370043, 0.677948, 0.340246, 0.709156, 0.610215],
  [3, 0.98073, 3.7771, 0.631192, 0.370039, 0.759633, 0.661884],
  [3.5, 1.068401, 3.442627, 0.603914, 0.390493, 0.792563, 0.697142],
  [4.765, 1.263582, 3.018394, 0.568106, 0.421711, 0.839744, 0.750599],
] as const;

/** The pixels of a quarter of a star. */
function quarter(fwhmPx: number, beta: number): Float64Array {
  const size = 5 * fwhmPx;
  const star = { kind: 'moffat', fwhmPx, beta } as const;
  return renderStar(star, { width: size, height: size, x: -0.5, y: -0.5, flux: 1 }).data;
}

/** The light of a star within a circle; a disc without blur tells how much of each pixel lies in it. */
function lightWithin(radiusPx: number, fwhmPx: number, beta: number): number {
  const size = 5 * fwhmPx;
  const disc = {
    kind: 'annulus',
    outerDiameterPx: 2 * radiusPx,
    obstructionRatio: 0,
    blurFwhmPx: 0,
  } as const;
  const area = Math.PI * radiusPx * radiusPx;
  const share = renderStar(disc, { width: size, height: size, x: -0.5, y: -0.5, flux: area }).data;
  return 4 * quarter(fwhmPx, beta).reduce((sum, value, k) => sum + value * share[k], 0);
}

/** From pixels f and 2 f to the FWHM to infinitely fine ones: the pixel adds a term in f^-2. */
function withoutPixels(measure: (fwhmPx: number) => number): number {
  return (4 * measure(48) - measure(24)) / 3;
}

for (const [beta, alpha, area, halfLight, withinHalf, withinWhole, peak] of table)
  describe(`Moffat star, beta = ${beta}`, () => {
    const profile = { fwhmPx: 1, beta };
    checkPublished(
      { what: 'alpha / FWHM', value: alpha, tolerance: 6e-7, source: trujillo, note: printed },
      () => moffatAlpha(profile),
    );
    checkPublished(
      { what: 'noise-equivalent area / FWHM^2', value: area, tolerance: 6e-7, source: king, note: printed },
      () => moffatNoiseEquivalentArea(profile),
    );
    checkPublished(
      { what: 'light within FWHM / 2', value: withinHalf, tolerance: 6e-7, source: encircled, note: printed },
      () => moffatEncircledEnergy(profile, 0.5),
    );
    checkPublished(
      { what: 'light within FWHM', value: withinWhole, tolerance: 6e-7, source: encircled, note: printed },
      () => moffatEncircledEnergy(profile, 1),
    );
    checkPublished(
      {
        what: `light within the half-light radius ${halfLight} FWHM`,
        value: 0.5,
        tolerance: 6e-7,
        source: encircled,
        note: 'half a unit of the sixth decimal of the radius times the slope, up to 1.1 per FWHM',
      },
      () => moffatEncircledEnergy(profile, halfLight),
    );

    const drawn = 'derived from the profile, confirmed numerically';
    checkPublished(
      {
        what: 'peak of a drawn star * FWHM^2',
        value: peak,
        tolerance: 2e-6,
        source: drawn,
        note: 'what is left of the pixel is (1 / 24)^4 = 3e-6 times less than 1',
      },
      () => withoutPixels((f) => quarter(f, beta)[0] * f * f * centerOverCorner(f, beta)),
    );
    checkPublished(
      {
        what: 'noise-equivalent area of a drawn star / FWHM^2',
        value: area,
        tolerance: 2e-5,
        source: king,
        note: 'what is left of the pixel is (1 / 24)^4 = 3e-6 times less than 5',
      },
      () => withoutPixels((f) => 1 / (4 * f * f * quarter(f, beta).reduce((sum, v) => sum + v * v, 0))),
    );
    for (const [radius, within, name] of [
      [0.5, withinHalf, 'FWHM / 2'],
      [1, withinWhole, 'FWHM'],
      [halfLight, 0.5, 'the half-light radius'],
    ] as const)
      checkPublished(
        {
          what: `light of a drawn star within ${name}`,
          value: within,
          tolerance: 3e-5,
          source: encircled,
          note: 'pixels of FWHM / 48, each counted by its area within the circle; where it cuts them varies, up to 2e-5',
        },
        () => withoutPixels((f) => lightWithin(radius * f, f, beta)),
      );
  });

/** Profile at the star over profile at the center of the pixel beside it, half a pixel off in x and y. */
function centerOverCorner(fwhmPx: number, beta: number): number {
  const alpha = moffatAlpha({ fwhmPx, beta });
  return (1 + 0.5 / (alpha * alpha)) ** beta;
}
