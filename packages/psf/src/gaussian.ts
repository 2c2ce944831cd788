import type { ShapePlan, StampSize } from './star-plan.ts';

/** A Gaussian star, circular or elliptical. */
export interface GaussianShape {
  readonly kind: 'gaussian';
  /** Full width at half maximum, px; along the long axis when elliptical. */
  readonly fwhmPx: number;
  /** Short axis over long axis, in (0, 1]. Default 1. */
  readonly axisRatio?: number;
  /** Direction of the long axis, degrees from +x towards +y. Default 0. */
  readonly angleDeg?: number;
}

export function prepareGaussian(_shape: GaussianShape, _size: StampSize): ShapePlan {
  throw new Error('to be written');
}
