/**
 * Light of a bright star on the main sensor that the pick-off spreads over the picture: diffracted by its
 * edge, reflected by its flank.
 */
import { log, requirePositive, unitVector } from '@holdfast/psf/numerics';
import { type PickoffGeometry, pickoffGeometry } from './pickoff-geometry.ts';
import type { PickoffOptions } from './pickoff-options.ts';
import { mirrorInPupil } from './shadow.ts';
import { type WorstPixel, worstPixel } from './shadow-worst.ts';

/** What the edge diffracts. */
export interface EdgeLight {
  /** Where the star stands: the place of the main sensor whose beam the mirror cuts most. */
  readonly star: WorstPixel;
  /** Length of the mirror's inner edge within the star's beam, mm of the aperture. */
  readonly edgeMm: number;
  /** All light of both spikes from 5 arcsec on, magnitudes below the star. */
  readonly belowStarMag: number;
  /**
   * Brightness of a spike at a distance from the star, magnitudes per square arcsec below the star, as wide
   * as the seeing.
   */
  readonly profile: readonly { readonly arcsec: number; readonly magPerArcsec2: number }[];
}

/** The air and the light of that star. */
export interface EdgeLightOptions {
  /** FWHM of a star in a long exposure by the air alone, arcsec: the width of a spike. */
  readonly seeingFwhmArcsec: number;
  /** Default 550. */
  readonly wavelengthNm?: number;
}

const arcsecPerRadian = 206264.806;
/** Nearer to the star its own image outshines the spike. */
const fromArcsec = 5;
const profileArcsec = [5, 10, 20, 50, 100, 200, 500];

/**
 * Spikes of the mirror's inner edge. At the focus of the main sensor Fraunhofer diffraction of the cut pupil
 * holds, however near the mirror stands. A straight edge of length L in a pupil of area A sends, along the
 * direction square to it and to either side,
 *
 *   dE / d theta = L lambda / (4 pi^2 A theta^2)          so beyond theta:   L lambda / (4 pi^2 A theta)
 *
 * of the star's light (the edge term of the Fraunhofer integral: Born & Wolf, Principles of Optics, 8.3 and
 * 8.5, from memory; the sum over the fringes derived, and tested against the integral itself).
 *
 * @returns undefined when no star on the main sensor has the edge in its beam
 * @throws RangeError or TypeError as `pickoffClearance`
 */
export function edgeLight(
  options: PickoffOptions,
  { seeingFwhmArcsec, wavelengthNm = 550 }: EdgeLightOptions,
): EdgeLight | undefined {
  requirePositive('seeingFwhmArcsec', seeingFwhmArcsec);
  requirePositive('wavelengthNm', wavelengthNm);
  const { apertureMm, obstructionRatio, edgeFromAxisMm, angleDeg = 90 } = options;
  const geometry = pickoffGeometry(options);
  const star = worstPixel(geometry, edgeFromAxisMm, angleDeg);
  const radiusMm = apertureMm / 2;
  const edgeMm = radiusMm * edgeInBeam(geometry, edgeFromAxisMm, angleDeg, star);
  if (!(edgeMm > 0) || star.loss >= 1) return undefined;
  const areaMm2 = Math.PI * radiusMm * radiusMm * (1 - obstructionRatio * obstructionRatio) * (1 - star.loss);
  /** Light beyond 1 arcsec on one side, so that it falls as 1 / arcsec. */
  const beyond = (edgeMm * wavelengthNm * 1e-6 * arcsecPerRadian) / (4 * Math.PI * Math.PI * areaMm2);
  const magnitude = (share: number): number => (-2.5 / Math.LN10) * log(share);
  return {
    star,
    edgeMm,
    belowStarMag: magnitude((2 * beyond) / fromArcsec),
    profile: profileArcsec.map((arcsec) => ({
      arcsec,
      magPerArcsec2: magnitude(beyond / (arcsec * arcsec) / seeingFwhmArcsec),
    })),
  };
}

/** Length of the inner edge within the open pupil of a star, pupil radii. */
function edgeInBeam(
  geometry: PickoffGeometry,
  edge: number,
  angleDeg: number,
  { xMm, yMm }: WorstPixel,
): number {
  const { x: cosine, y: sine } = unitVector(angleDeg);
  const corners = mirrorInPupil(geometry, edge, {
    along: xMm * cosine + yMm * sine,
    across: yMm * cosine - xMm * sine,
  });
  const [u, low] = corners;
  const high = corners[7];
  const within = (radius: number): number => {
    const half = Math.sqrt(Math.max(0, radius * radius - u * u));
    return Math.max(0, Math.min(half, high) - Math.max(-half, low));
  };
  return within(1) - within(geometry.obstructionRatio);
}

/**
 * A usual blackened flank: thickness along the light, mm, and share of the light that it reflects at grazing
 * incidence.
 */
const flankMm = 1;
const flankReflects = 0.05;

/**
 * At most so much of a star's light can its flank reflect, were the flank in the middle of the beam: a strip
 * as wide as the flank is thick times the steepest ray's slope. Spread over millimeters, where to is not
 * modeled. (Derived; thickness and reflectance common practice, no source.)
 */
export function flankLight(options: PickoffOptions): { readonly belowStarMag: number } {
  const { fNumber, innerHeight, convergence } = pickoffGeometry(options);
  const slope = 1 / (2 * fNumber) + options.edgeFromAxisMm * convergence;
  const beamRadius = innerHeight / (2 * fNumber);
  const share = Math.min(1, (2 * flankMm * slope) / (Math.PI * beamRadius));
  return { belowStarMag: (-2.5 / Math.LN10) * log(flankReflects * share) };
}
