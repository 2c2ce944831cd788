/**
 * What may stand beside the guide star in its window: fainter stars by the counts of the field, hot pixels by
 * the camera's figure.
 */
import { exp, log } from '@holdfast/psf/numerics';
import { chanceOf } from '../odds/guide-star-chance.ts';
import { starsPerDeg2 } from '../odds/star-counts.ts';
import type { Rig } from '../rig/rig-schema.ts';
import { buildScene } from '../trials/scene.ts';
import type { Interval } from '../trials/statistics.ts';

/** Something beside the star, as a chance. */
export interface Beside {
  /** Probability of at least one in the window. */
  readonly chance: Interval;
  /**
   * How far one at the edge of the window pulls the center of mass, px: a constant, but it changes where the
   * ring's size does.
   */
  readonly pullPx: number;
}

/** What may stand in the window of the rig's guide star. */
export interface BesideStar {
  /** Stars of at least a fortieth of its light. */
  readonly neighbor: Beside;
  /**
   * Galactic latitude that the counts are for, degrees; of a rig that names none, that of the mean density.
   */
  readonly galacticLatitudeDeg: number;
  /** Pixels that stand out of the noise by 5 sigmas. */
  readonly hotPixel: Beside;
}

/** A neighbor this much fainter has a fortieth of the light, mag. */
const faintest = 4;
/** There the counts are nearest to their mean over all directions. */
const meanLatitudeDeg = 25;
/** How far a hot pixel stands out, sigmas: as `guideCamera.hotPixelsPerMillion` is defined. */
const hotSigmas = 5;

/** Assumes randomly placed stars; the interval is that of the counts. */
export function besideStar(rig: Rig): BesideStar {
  const { windowPx, arcsecPerPx, fluxE, backgroundE, pixelNoiseE, binning } = buildScene(rig, {
    focusShiftUm: rig.guideFocusShiftUm,
  });
  const { galacticLatitudeDeg = meanLatitudeDeg, galacticLongitudeDeg } = rig;
  const count = starsPerDeg2({
    magnitude: Math.min(25, Math.max(0, rig.guideStar.magnitude + faintest)),
    galacticLatitudeDeg,
    ...(galacticLongitudeDeg === undefined ? {} : { galacticLongitudeDeg }),
  });
  const windowDeg2 = ((windowPx * arcsecPerPx) / 3600) ** 2;
  const { atLeastOne } = chanceOf(1, count.perDeg2 * windowDeg2, log(count.uncertaintyFactor));
  const share = exp((-faintest * Math.LN10) / 2.5);
  const pixels = (windowPx * binning) ** 2;
  const hot = 1 - exp((-pixels * rig.guideCamera.hotPixelsPerMillion) / 1e6);
  return {
    neighbor: { chance: atLeastOne, pullPx: ((windowPx / 2) * share) / (1 + share) },
    galacticLatitudeDeg,
    hotPixel: {
      chance: { value: hot, low: hot, high: hot },
      pullPx: ((windowPx / 2) * hotSigmas * Math.sqrt(backgroundE + pixelNoiseE ** 2)) / fluxE,
    },
  };
}
