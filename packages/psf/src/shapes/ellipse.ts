/**
 * Elliptical stars: the two optional fields that Gaussian and Moffat share, checked, and the algebra of their
 * axes.
 */
import { unitVector } from '../numerics/angle.ts';
import { requireFinite, requireWithin } from '../numerics/require.ts';

/** Fields of a shape that may be elliptical. */
export interface Elliptical {
  /** Short axis over long axis, in [0.01, 1]. Default 1. */
  readonly axisRatio?: number;
  /** Direction of the long axis, degrees from +x toward +y. Default 0. */
  readonly angleDeg?: number;
}

/**
 * The quadratic form ((dx - skew dy) / acrossX)^2 + (dy / alongY)^2 of an ellipse, written so that for a
 * given dy it is a parabola in dx with its vertex at skew * dy. It is 1 on the ellipse itself.
 */
export interface Ellipse {
  /** Half the width of the ellipse along the row through its center, px. */
  readonly acrossX: number;
  /** Half the width of the ellipse along the column through its center, px. */
  readonly acrossY: number;
  /** Half the extent of the ellipse in y, px. */
  readonly alongY: number;
  /** Shift of the vertex in x for each px in y; exactly 0 for a circle and for axes along the pixels. */
  readonly skew: number;
}

/** The ellipse with half axes `longPx` and `longPx * axisRatio`; throws when a field is out of range. */
export function ellipseOf({ axisRatio = 1, angleDeg = 0 }: Elliptical, longPx: number): Ellipse {
  requireWithin('axisRatio', axisRatio, 0.01, 1);
  requireFinite('angleDeg', angleDeg);
  const shortPx = longPx * axisRatio;
  const turn = ((angleDeg % 180) + 180) % 180;
  if (axisRatio === 1 || turn === 0) return { acrossX: longPx, acrossY: shortPx, alongY: shortPx, skew: 0 };
  if (turn === 90) return { acrossX: shortPx, acrossY: longPx, alongY: longPx, skew: 0 };

  // Second moments of the ellipse, in units of its long axis so that no width can over- or underflow.
  const { x: c, y: s } = unitVector(turn);
  const xx = c * c + axisRatio * axisRatio * s * s;
  const yy = s * s + axisRatio * axisRatio * c * c;
  const xy = (1 - axisRatio * axisRatio) * c * s;
  return {
    acrossX: shortPx / Math.sqrt(yy),
    acrossY: shortPx / Math.sqrt(xx),
    alongY: longPx * Math.sqrt(yy),
    skew: xy / yy,
  };
}
