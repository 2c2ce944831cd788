/**
 * Non-linearity near the full well W: up to a knee a pixel delivers as many electrons as it holds, above it
 * fewer, by a parabola that leaves the knee without a kink.
 *
 *   delivered = q                    for q <= k W
 *   delivered = q - a W s^2          above, with s = (q / W - k) / (1 - k)
 *
 * At the full well the loss is a W. The noise of the light shrinks with the slope 1 - 2 a s / (1 - k), which
 * is why the variance of a photon transfer curve bends down before saturation. The shape is ours; it is the
 * simplest with a knee and an inverse in closed form. For q in [k W, W] and p = delivered / W - k the inverse
 * is
 *
 *   q = W (k + 2 p / (1 + sqrt(1 - 4 a p / (1 - k)^2)))
 */
import { requireNames } from '../numerics/options.ts';
import { requireBelow, requireFinite, requireNonNegative, requirePositive } from '../numerics/require.ts';

/** How a pixel delivers less than it holds. */
export interface NonLinearity {
  /** Charge up to which the pixel is linear, as a share of the full well: from 0 to below 1. */
  readonly kneeFraction: number;
  /**
   * What is missing at the full well, as a share of it: from 0 to (1 - kneeFraction) / 2, where the slope
   * ends at 0.
   */
  readonly lossAtFullWell: number;
}

/** What of a camera decides how it answers to charge. */
export interface WellResponse {
  readonly fullWellE: number;
  /** Default: linear up to the full well. */
  readonly nonLinearity?: NonLinearity;
}

export function checkNonLinearity(nonLinearity: NonLinearity): void {
  const { kneeFraction, lossAtFullWell } = requireNames(
    'camera.nonLinearity',
    nonLinearity,
    'kneeFraction lossAtFullWell',
  );
  requireBelow('camera.nonLinearity.kneeFraction', kneeFraction, 0, 1);
  const name = 'camera.nonLinearity.lossAtFullWell';
  requireNonNegative(name, lossAtFullWell);
  // As a sum, so that 0.9 and 0.05 pass, of which (1 - 0.9) / 2 falls short by its rounding.
  if (lossAtFullWell + kneeFraction / 2 > 0.5)
    throw new RangeError(`${name} must be at most (1 - kneeFraction) / 2, got ${lossAtFullWell}`);
}

/** The curve for a charge from 0 to the full well. */
export function deliver(
  chargeE: number,
  fullWellE: number,
  { kneeFraction, lossAtFullWell }: NonLinearity,
): number {
  const above = chargeE / fullWellE - kneeFraction;
  if (above <= 0) return chargeE;
  const s = above / (1 - kneeFraction);
  return chargeE - lossAtFullWell * fullWellE * s * s;
}

/**
 * Electrons that a pixel delivers for the charge that falls into it: the full well cuts it, then the
 * non-linearity acts.
 *
 * ```ts
 * const camera = { fullWellE: 10_000, nonLinearity: { kneeFraction: 0.5, lossAtFullWell: 0.1 } }
 * deliveredE(4000, camera) // 4000
 * deliveredE(7500, camera) // 7250
 * deliveredE(99_000, camera) // 9000
 * ```
 * @param chargeE  electrons, >= 0
 * @throws RangeError or TypeError naming the argument that is out of range
 */
export function deliveredE(chargeE: number, camera: WellResponse): number {
  const { fullWellE, nonLinearity } = checked(camera);
  if (!(chargeE >= 0)) throw new RangeError(`chargeE must be >= 0, got ${chargeE}`);
  const held = Math.min(chargeE, fullWellE);
  return nonLinearity ? deliver(held, fullWellE, nonLinearity) : held;
}

/**
 * Charge that a pixel holds when it delivers so many electrons: the inverse of `deliveredE` up to the full
 * well. A value from a noisy frame may lie outside its range: below the knee it is returned as it is, above
 * the largest that a pixel can deliver it is the full well.
 *
 * ```ts
 * const camera = { fullWellE: 10_000, nonLinearity: { kneeFraction: 0.5, lossAtFullWell: 0.1 } }
 * collectedE(7250, camera) // 7500
 * ```
 * @throws RangeError or TypeError naming the argument that is out of range
 */
export function collectedE(deliveredE: number, camera: WellResponse): number {
  const { fullWellE, nonLinearity } = checked(camera);
  requireFinite('deliveredE', deliveredE);
  if (!nonLinearity) return Math.min(deliveredE, fullWellE);
  const { kneeFraction, lossAtFullWell } = nonLinearity;
  if (deliveredE >= (1 - lossAtFullWell) * fullWellE) return fullWellE;
  const p = deliveredE / fullWellE - kneeFraction;
  if (p <= 0) return deliveredE;
  const linear = 1 - kneeFraction;
  const root = Math.sqrt(Math.max(0, 1 - (4 * lossAtFullWell * p) / (linear * linear)));
  return fullWellE * (kneeFraction + (2 * p) / (1 + root));
}

function checked(camera: WellResponse): WellResponse {
  requirePositive('camera.fullWellE', camera.fullWellE);
  if (camera.nonLinearity) checkNonLinearity(camera.nonLinearity);
  return camera;
}
