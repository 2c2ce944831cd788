/**
 * Rays through a pupil, placed so that they move smoothly with its edges: on lines from the edge of the
 * obstruction to the rim or to a straight edge that clips the beam, at equal angles, and on each line by
 * Gauss's rule.
 */
import { gaussLegendre, unitVector } from '@holdfast/psf/numerics';

/** What the rays pass, in radii of the aperture. */
export interface RayPupil {
  readonly obstructionRatio: number;
  /** Center of the obstruction. */
  readonly holeX: number;
  readonly holeY: number;
  /** Intensity 1 + slopeX x + slopeY y. */
  readonly slopeX: number;
  readonly slopeY: number;
  /** Distance of a straight edge from the center, and its direction, radians. Default: none. */
  readonly clipDistance?: number;
  readonly clipAngle?: number;
}

/** Where rays pass the pupil, in radii, and which share of the light each carries. */
export interface PupilRays {
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** They sum to 1. */
  readonly shares: Float64Array;
}

const perRadian = 180 / Math.PI;

/** @returns a function that overwrites `out`, of `lines * perLine` rays */
export function preparePupilRays(lines: number, perLine: number): (out: PupilRays, pupil: RayPupil) => void {
  const rule = gaussLegendre(perLine);
  return ({ x, y, shares }, pupil) => {
    const { obstructionRatio: e, holeX, holeY, slopeX, slopeY } = pupil;
    const { clipDistance = 1, clipAngle = 0 } = pupil;
    const away = unitVector(clipAngle * perRadian);
    let sum = 0;
    for (let line = 0, n = 0; line < lines; line++) {
      const { x: c, y: s } = unitVector((360 * (line + 0.5)) / lines);
      const toward = c * away.x + s * away.y;
      const isCut = toward > clipDistance;
      const rim = isCut ? clipDistance / toward : 1;
      // d rim / d angle
      const rimTurn = isCut ? (rim * (s * away.x - c * away.y)) / toward : 0;
      const innerX = holeX + e * c;
      const innerY = holeY + e * s;
      const reachX = rim * c - innerX;
      const reachY = rim * s - innerY;
      for (let k = 0; k < perLine; k++, n++) {
        const t = (1 + rule.nodes[k]) / 2;
        const px = innerX + t * reachX;
        const py = innerY + t * reachY;
        const turnX = -(1 - t) * e * s + t * (rimTurn * c - rim * s);
        const turnY = (1 - t) * e * c + t * (rimTurn * s + rim * c);
        const area = reachX * turnY - reachY * turnX;
        // below 0 where the edge has passed the rim of the obstruction: no light there
        const light = area > 0 ? rule.weights[k] * area * Math.max(0, 1 + slopeX * px + slopeY * py) : 0;
        x[n] = px;
        y[n] = py;
        shares[n] = light;
        sum += light;
      }
    }
    for (let n = 0; n < shares.length; n++) shares[n] /= sum;
  };
}
