import type { ShapePlan, StampSize } from './star-plan.ts';

/** A Moffat star: I(r) = (beta - 1) / (pi alpha^2) (1 + r^2 / alpha^2)^-beta. */
export interface MoffatShape {
  readonly kind: 'moffat';
  /** Full width at half maximum, px; along the long axis when elliptical. */
  readonly fwhmPx: number;
  /** Wing exponent, > 1. Kolmogorov seeing is near 4.765, real images 2.5 to 4. */
  readonly beta: number;
  /** Short axis over long axis, in (0, 1]. Default 1. */
  readonly axisRatio?: number;
  /** Direction of the long axis, degrees from +x towards +y. Default 0. */
  readonly angleDeg?: number;
}

export function prepareMoffat(_shape: MoffatShape, _size: StampSize): ShapePlan {
  throw new Error('to be written');
}
