/** How deep should a pick-off reach: depth against shadow, light and shape of the guide star. */

import { requireNames } from '@holdfast/psf/numerics';
import { resultOf } from '../long-work.ts';
import { rigInLeastLight } from '../rig/guide-light.ts';
import type { Rig } from '../rig/rig-schema.ts';
import { designOf } from '../rig/telescope-design.ts';
import { defaultAllowedLossPercent } from './pickoff.ts';
import { deepestPlace } from './pickoff-depth.ts';
import { type PickoffGeometry, pickoffGeometry } from './pickoff-geometry.ts';
import { type PickoffMount, type PickoffOptions, pickoffNames } from './pickoff-options.ts';
import { type PickoffStar, pickoffStar } from './pickoff-star.ts';
import { type PickoffStarError, pickoffStarError } from './pickoff-star-error.ts';
import { worstPixel } from './shadow-worst.ts';

/** One depth. */
export interface PickoffDepth {
  /** Distance of the mirror's inner edge from the optical axis, mm. */
  readonly edgeFromAxisMm: number;
  /** Largest loss at any pixel of the main sensor, 0 to 1. */
  readonly worstLoss: number;
  /** Whether the shadow stays within the accepted loss. */
  readonly isAllowed: boolean;
  /** The star that the pick-off sees there. */
  readonly star: PickoffStar;
  /** Undefined when no light arrives. */
  readonly error: PickoffStarError | undefined;
  /**
   * Of the rig's star as it would be seen there, by formula; only where `limits` asked for it and light
   * arrives.
   */
  readonly limits?: PickoffDepthLimits;
}

/** How well the rig's own method measures the star of a depth, comet, clipping and light counted. */
export interface PickoffDepthLimits {
  /** Noise-equivalent error, one axis, arcsec; undefined where the star is too faint for a prediction. */
  readonly noiseEquivalentArcsec: number | undefined;
  /** How far out of focus it stays within the budget, um. */
  readonly focusLimitUm: number;
}

/** What each depth of the pick-off costs and gives. */
export interface PickoffTradeOff {
  /** From deep to shallow. */
  readonly depths: readonly PickoffDepth[];
  /**
   * The depth of least possible position error among those that shade no pixel more than allowed; undefined
   * when no depth gives light without such shade.
   */
  readonly best: PickoffDepth | undefined;
  /** Largest loss of light that is accepted, %. */
  readonly allowedLossPercent: number;
  /** Focus shift at the guide sensor, um. */
  readonly focusShiftUm: number;
}

/** The pick-off and the depths to try. */
export interface PickoffTradeOffOptions extends Omit<PickoffMount, 'edgeFromAxisMm' | 'starOffAxisMm'> {
  /** Out of the guide star's own focus, um. Default 0. */
  readonly focusShiftUm?: number;
  /**
   * Depths from the one that takes half the light of some pixel to where the beam ends. Default 25, from 2 to
   * 1000.
   */
  readonly steps?: number;
  /**
   * Tells error and focus limit of the star of each depth, from the rig with its pick-off there, as
   * `formulaLimits`. Default: left out.
   */
  readonly limits?: (rig: Rig, focusShiftUm: number) => PickoffDepthLimits;
}

/**
 * Depth of a pick-off against what its guide star, of the rig's magnitude and in the middle of the mirror,
 * gets: the deeper, the nearer to the axis, with less coma and astigmatism and more light past the opening,
 * but the more shade on the main sensor. The deepest place that is allowed is one of the depths. Without a
 * `design` that of the rig is taken, if it names one. The star is seen through the filter of least light,
 * where the filters stand before the pick-off.
 *
 * ```ts
 * pickoffTradeOff(rig, mount).best?.edgeFromAxisMm
 * ```
 * @throws RangeError or TypeError as `pickoffClearance`
 */
export function pickoffTradeOff(whole: Rig, options: PickoffTradeOffOptions): PickoffTradeOff {
  return resultOf(pickoffTradeOffInSteps(whole, options));
}

/** {@link pickoffTradeOff}, depth by depth: the caller may stop between two of them. */
export function* pickoffTradeOffInSteps(
  whole: Rig,
  options: PickoffTradeOffOptions,
): Generator<void, PickoffTradeOff> {
  const {
    focusShiftUm = 0,
    steps = 25,
    limits,
    angleDeg = 90,
    allowedLossPercent = defaultAllowedLossPercent,
  } = requireNames('options', options, ...pickoffNames, 'focusShiftUm steps limits');
  if (!(Number.isInteger(steps) && steps >= 2 && steps <= 1000))
    throw new RangeError(`steps must be a whole number from 2 to 1000, got ${steps}`);
  const allowedLoss = allowedLossPercent / 100;
  const rig = rigInLeastLight(whole);
  const { apertureMm, focalLengthMm, obstructionRatio } = rig.telescope;
  const design = options.design ?? designOf(rig);
  const pickoff: PickoffOptions = {
    ...options,
    ...(design === undefined ? {} : { design }),
    apertureMm,
    focalLengthMm,
    obstructionRatio,
    edgeFromAxisMm: 0,
  };
  const geometry = pickoffGeometry(pickoff);
  const depthAt = (edgeFromAxisMm: number): PickoffDepth => {
    const star = pickoffStar(pickoff, geometry, edgeFromAxisMm);
    const worstLoss = worstPixel(geometry, edgeFromAxisMm, angleDeg).loss;
    return {
      edgeFromAxisMm,
      worstLoss,
      isAllowed: worstLoss <= allowedLoss,
      star,
      error: pickoffStarError(rig, star, focusShiftUm),
      ...(limits === undefined || star.pupil === undefined
        ? {}
        : { limits: limits(rigAtDepth(rig, options, edgeFromAxisMm), focusShiftUm) }),
    };
  };
  const depths: PickoffDepth[] = [];
  for (const edgeFromAxisMm of edgesOf(geometry, angleDeg, allowedLoss, steps)) {
    depths.push(depthAt(edgeFromAxisMm));
    yield;
  }
  return { depths, best: bestOf(depths), allowedLossPercent, focusShiftUm };
}

/** The rig with its pick-off at a depth. */
function rigAtDepth(rig: Rig, mount: PickoffTradeOffOptions, edgeFromAxisMm: number): Rig {
  const { flangeDistanceMm, openingMm, mainSensor, mirror, exitPupilDistanceMm } = mount;
  const { offAxis: _, ...plain } = rig;
  return {
    ...plain,
    pickoff: {
      angleDeg: mount.angleDeg ?? 90,
      guideAngleDeg: rig.pickoff?.guideAngleDeg ?? 0,
      allowedLossPercent: mount.allowedLossPercent ?? defaultAllowedLossPercent,
      flangeDistanceMm,
      openingMm,
      mainSensor,
      mirror,
      edgeFromAxisMm,
      ...(exitPupilDistanceMm === undefined ? {} : { exitPupilDistanceMm }),
    },
  };
}

/** Equal steps to the end of the beam, and the deepest place that is allowed among them. */
function edgesOf(geometry: PickoffGeometry, angleDeg: number, allowedLoss: number, steps: number): number[] {
  const deepest = deepestPlace(geometry, angleDeg, allowedLoss).edgeFromAxisMm;
  const from = Math.min(deepest, deepestPlace(geometry, angleDeg, 0.5).edgeFromAxisMm);
  const edges = Array.from({ length: steps }, (_, i) => from + ((geometry.beamEnd - from) * i) / steps);
  if (deepest < geometry.beamEnd && !edges.includes(deepest)) edges.push(deepest);
  return edges.sort((a, b) => a - b);
}

function bestOf(depths: readonly PickoffDepth[]): PickoffDepth | undefined {
  let best: PickoffDepth | undefined;
  for (const depth of depths) {
    if (!depth.isAllowed || depth.error === undefined) continue;
    if (best?.error === undefined || depth.error.leastErrorArcsec < best.error.leastErrorArcsec) best = depth;
  }
  return best;
}
