/** Does a pick-off shade the main sensor, how deep may it reach, and what does its guide star get? */
import { requireFinite, requireNames, unitVector } from '@holdfast/psf/numerics';
import { type DeepestPlace, deepestPlace, depthByRotation } from './pickoff-depth.ts';
import { type PickoffGeometry, pickoffGeometry } from './pickoff-geometry.ts';
import { type PickoffOptions, pickoffNames } from './pickoff-options.ts';
import { type PickoffStar, pickoffStar } from './pickoff-star.ts';
import { takenFraction } from './shadow.ts';
import { type WorstPixel, worstPixel } from './shadow-worst.ts';

/**
 * The loss that is accepted at any pixel unless said otherwise (a flat-field frame takes it out; no source).
 */
export const defaultAllowedLossPercent = 2;

/** The shadow of a pick-off on the main sensor. */
export interface PickoffShadow {
  /**
   * What lies on the main sensor: nothing; the half-shade, where a pixel loses a part of its light; or the
   * full shade, where some pixel loses all of it.
   */
  readonly reaches: 'nothing' | 'penumbra' | 'umbra';
  /** The pixel that loses most. */
  readonly worst: WorstPixel;
  /**
   * Distance from the axis at which the half-shade begins, straight toward the mirror, mm; may lie beyond the
   * sensor.
   */
  readonly penumbraFromAxisMm: number;
  /**
   * Where the full shade begins; undefined when the mirror is too small to hide the whole beam from any
   * point.
   */
  readonly umbraFromAxisMm: number | undefined;
}

/** How deep a pick-off may go, its shadow and its star. */
export interface PickoffClearance {
  /** F-number of the beam. */
  readonly fNumber: number;
  /** Largest loss of light that is accepted, %. */
  readonly allowedLossPercent: number;
  /** Whether no pixel loses more than allowed. */
  readonly isClear: boolean;
  /** The shadow where the pick-off stands. */
  readonly shadow: PickoffShadow;
  /** How deep it may reach at its own rotation, for the allowed loss. */
  readonly deepest: DeepestPlace;
  /** The same every 5 degrees from the short side of the sensor (0) over its corner to its long side (90). */
  readonly byRotation: readonly DeepestPlace[];
  /** The star that it sees there. */
  readonly star: PickoffStar;
}

/**
 * Shadow, depth and guide star of a pick-off, by exact geometry of the cones of light: straight rays from the
 * exit pupil, a thin flat mirror at 45 degrees.
 *
 * ```ts
 * const { isClear, shadow, star } = pickoffClearance({
 *   ...rig.telescope,
 *   flangeDistanceMm: 66, openingMm: 46,
 *   mainSensor: { widthMm: 23.5, heightMm: 15.7 },
 *   mirror: { widthMm: 10, depthMm: 8, distanceMm: 40 },
 *   edgeFromAxisMm: 13,
 * })
 * ```
 * @throws RangeError or TypeError with name, value got and what is allowed, also for a pick-off that cannot
 *   exist
 */
export function pickoffClearance(options: PickoffOptions): PickoffClearance {
  requireNames('options', options, ...pickoffNames);
  const geometry = pickoffGeometry(options);
  const { edgeFromAxisMm, angleDeg = 90, allowedLossPercent = defaultAllowedLossPercent } = options;
  const allowedLoss = allowedLossPercent / 100;
  const shadow = shadowOf(geometry, edgeFromAxisMm, angleDeg);
  return {
    fNumber: geometry.fNumber,
    allowedLossPercent,
    isClear: shadow.worst.loss <= allowedLoss,
    shadow,
    deepest: deepestPlace(geometry, angleDeg, allowedLoss),
    byRotation: depthByRotation(geometry, allowedLoss),
    star: pickoffStar(options, geometry, edgeFromAxisMm),
  };
}

/**
 * Share of light that a point of the main focal plane loses, 0 to 1, as a function of its place from the axis
 * in mm.
 */
export function pickoffShadow(options: PickoffOptions): (xMm: number, yMm: number) => number {
  requireNames('options', options, ...pickoffNames);
  const geometry = pickoffGeometry(options);
  const { x, y } = unitVector(options.angleDeg ?? 90);
  return (xMm, yMm) => {
    requireFinite('xMm', xMm);
    requireFinite('yMm', yMm);
    return takenFraction(geometry, options.edgeFromAxisMm, {
      along: xMm * x + yMm * y,
      across: yMm * x - xMm * y,
    });
  };
}

/** All but this much of the light is all of it. */
const rounding = 1e-9;

function shadowOf(geometry: PickoffGeometry, edge: number, angleDeg: number): PickoffShadow {
  const { innerHeight, fNumber, convergence } = geometry;
  const worst = worstPixel(geometry, edge, angleDeg);
  const reach = innerHeight / (2 * fNumber);
  const toward = 1 - innerHeight * convergence;
  const umbra = (edge + reach) / toward;
  const isFull = takenFraction(geometry, edge, { along: umbra, across: 0 }) >= 1 - rounding;
  return {
    reaches: worst.loss >= 1 - rounding ? 'umbra' : worst.loss > 0 ? 'penumbra' : 'nothing',
    worst,
    penumbraFromAxisMm: (edge - reach) / toward,
    umbraFromAxisMm: isFull ? umbra : undefined,
  };
}
