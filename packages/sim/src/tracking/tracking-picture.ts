/**
 * What a track does to the exposures of the main camera: how much its stars grow, and how long they become.
 */
import { fwhmPerSigma, pixelFwhmArcsec } from '../budget/budget.ts';
import type { Rig } from '../rig/rig-schema.ts';
import type { TrackSpan } from './tracking-events.ts';
import type { PictureExposures } from './tracking-options.ts';
import type { TrackSeries } from './tracking-run.ts';

/** One exposure of the main camera. */
export interface PictureSpan {
  readonly startS: number;
  readonly endS: number;
  /** Whether an event touches it. */
  readonly isInEvent: boolean;
}

/** A star of the picture after one exposure. */
export interface PictureStar {
  /** FWHM along the longest and the shortest direction, arcsec. */
  readonly longestArcsec: number;
  readonly shortestArcsec: number;
  /** Root mean square of the two over the FWHM without any tracking error, less 1, in %. */
  readonly growthPercent: number;
  /** Longest over shortest. */
  readonly elongation: number;
}

/**
 * The exposures that end within the run. Without `duringEvents` one that an event would touch waits for the
 * event's end.
 */
export function pictureSpans(
  { exposureS, gapS, duringEvents }: Required<PictureExposures>,
  events: readonly TrackSpan[],
  durationS: number,
): PictureSpan[] {
  const spans: PictureSpan[] = [];
  let startS = 0;
  while (startS + exposureS <= durationS) {
    const from = startS;
    const endS = startS + exposureS;
    const touched = events.find((event) => event.startS < endS && event.endS > from);
    if (touched !== undefined && !duringEvents) startS = touched.endS;
    else {
      spans.push({ startS, endS, isInEvent: touched !== undefined });
      startS = endS + gapS;
    }
  }
  return spans;
}

/**
 * The star of one exposure, from the position errors during it:
 *
 *   FWHM^2 = seeing^2 + (k pixel)^2 / 12 + k^2 variance,   k = 2 sqrt(2 ln 2)
 *
 * along both principal axes of the track. Second moments stand for the width: right for a track that is
 * roughly normal and for a small one of any kind; a star that stood at two places is drawn as one long star.
 */
export function prepareStarOfTrack(
  rig: Rig,
  seeingFwhmArcsec: number,
): (series: TrackSeries, span: PictureSpan) => PictureStar {
  const perfect2 = seeingFwhmArcsec ** 2 + pixelFwhmArcsec(rig) ** 2;
  const k2 = fwhmPerSigma * fwhmPerSigma;
  return ({ errorX, errorY, stepS }, { startS, endS }) => {
    const from = Math.round(startS / stepS);
    const to = Math.min(errorX.length, Math.max(from + 1, Math.round(endS / stepS)));
    let sumX = 0;
    let sumY = 0;
    for (let i = from; i < to; i++) {
      sumX += errorX[i];
      sumY += errorY[i];
    }
    const meanX = sumX / (to - from);
    const meanY = sumY / (to - from);
    let xx = 0;
    let xy = 0;
    let yy = 0;
    for (let i = from; i < to; i++) {
      const x = errorX[i] - meanX;
      const y = errorY[i] - meanY;
      xx += x * x;
      xy += x * y;
      yy += y * y;
    }
    const middle = (xx + yy) / 2 / (to - from);
    const swing = Math.sqrt(((xx - yy) / 2) ** 2 + xy * xy) / (to - from);
    const longest = Math.sqrt(perfect2 + k2 * (middle + swing));
    const shortest = Math.sqrt(perfect2 + k2 * Math.max(0, middle - swing));
    return {
      longestArcsec: longest,
      shortestArcsec: shortest,
      growthPercent: 100 * (Math.sqrt((longest * longest + shortest * shortest) / 2 / perfect2) - 1),
      elongation: longest / shortest,
    };
  };
}
