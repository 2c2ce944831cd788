/**
 * What the light of a star passes on its way to the guide sensor: aperture, obstruction, vanes, the edges of
 * the pick-off, uneven illumination. Lengths are in units of the aperture's radius, angles in degrees from +x
 * toward +y.
 *
 * The axes are those of the sensor, as the light travels: beyond focus the rays have crossed, so the ring
 * there shows the pupil turned by half a turn, and before focus it shows it upright.
 */

import { unitVector } from '../numerics/angle.ts';
import { requireNames } from '../numerics/options.ts';
import {
  requireBelow,
  requireFinite,
  requireInteger,
  requireNonNegative,
  requirePositive,
  requireWithin,
} from '../numerics/require.ts';

/** A pupil: the unit disc less what stands in the light. Only the obstruction must be named. */
export interface Pupil {
  /** Diameter of the central obstruction over that of the aperture, in [0, 1). */
  readonly obstructionRatio: number;
  /** Center of the obstruction; the vanes follow it. Default the center of the aperture. */
  readonly obstructionCenter?: { readonly x: number; readonly y: number };
  /** Vanes that hold the second mirror. Default none. */
  readonly vanes?: Vanes;
  /** A straight edge that clips the beam. */
  readonly clip?: ClipEdge;
  /** The footprint of a rectangular pick-off: light passes only inside. */
  readonly footprint?: Footprint;
  /** How the light is spread over the pupil. Default evenly. */
  readonly illumination?: Illumination;
}

/** Straight vanes that hold the obstruction, from its center outwards, at equal angles. */
export interface Vanes {
  /** From 1 to 64. */
  readonly count: number;
  /** Width over the diameter of the aperture, > 0. */
  readonly widthRatio: number;
  /** Direction of the first vane. Default 0. */
  readonly angleDeg?: number;
}

/**
 * Light passes where x cos(angleDeg) + y sin(angleDeg) <= distance: at `distance` 1 nothing is lost, at 0
 * half of it.
 */
export interface ClipEdge {
  /** From the center of the pupil to the edge, radii of the aperture. */
  readonly distance: number;
  /** Direction from the center of the aperture to the side that is cut off. Default 0. */
  readonly angleDeg?: number;
}

/** A rectangle around (x, y), its side `width` along `angleDeg`. An aperture lies whole in one of 2 by 2. */
export interface Footprint {
  /** Its width, radii of the aperture, > 0. */
  readonly width: number;
  /** Its height, radii of the aperture, > 0. */
  readonly height: number;
  /** Default 0. */
  readonly x?: number;
  /** Default 0. */
  readonly y?: number;
  /** Default 0. */
  readonly angleDeg?: number;
}

/**
 * Intensity over the pupil, 1 + gradient * (x cos(angleDeg) + y sin(angleDeg)) + radial * (x^2 + y^2); it
 * must not be negative anywhere in the unit disc.
 */
export interface Illumination {
  /** Default 0. */
  readonly gradient?: number;
  /** Direction in which the pupil brightens. Default 0. */
  readonly angleDeg?: number;
  /** What the rim has more than the center. Default 0. */
  readonly radial?: number;
}

/** The intensity at a point of a pupil, whether or not anything stands in the light there. */
export function pupilIntensity({ illumination }: Pupil): (x: number, y: number) => number {
  if (illumination === undefined) return () => 1;
  const { gradient = 0, angleDeg = 0, radial = 0 } = illumination;
  const toward = unitVector(angleDeg);
  const alongX = gradient * toward.x;
  const alongY = gradient * toward.y;
  return (x, y) => 1 + alongX * x + alongY * y + radial * (x * x + y * y);
}

/** Whether a pupil is the same at (x, -y). */
export function isPupilEvenInY({ obstructionCenter, vanes, clip, footprint, illumination }: Pupil): boolean {
  const isAlong = (angleDeg = 0, everyDeg: number): boolean => angleDeg % everyDeg === 0;
  return (
    (obstructionCenter === undefined || obstructionCenter.y === 0) &&
    (vanes === undefined || isAlong(vanes.angleDeg, 180 / vanes.count)) &&
    (clip === undefined || isAlong(clip.angleDeg, 180)) &&
    (footprint === undefined || ((footprint.y ?? 0) === 0 && isAlong(footprint.angleDeg, 90))) &&
    (illumination === undefined || isAlong(illumination.angleDeg, 180))
  );
}

/**
 * Check a pupil.
 *
 * @throws RangeError or TypeError naming the field that is out of range
 */
export function requirePupil(pupil: Pupil): void {
  requireNames('pupil', pupil, 'obstructionRatio obstructionCenter vanes clip footprint illumination');
  requireBelow('pupil.obstructionRatio', pupil.obstructionRatio, 0, 1);
  if (pupil.obstructionCenter !== undefined) {
    requireNames('pupil.obstructionCenter', pupil.obstructionCenter, 'x y');
    requireWithin('pupil.obstructionCenter.x', pupil.obstructionCenter.x, -2, 2);
    requireWithin('pupil.obstructionCenter.y', pupil.obstructionCenter.y, -2, 2);
  }
  if (pupil.vanes !== undefined) {
    requireNames('pupil.vanes', pupil.vanes, 'count widthRatio angleDeg');
    requireInteger('pupil.vanes.count', pupil.vanes.count, 1, 64);
    requirePositive('pupil.vanes.widthRatio', pupil.vanes.widthRatio);
    requireFinite('pupil.vanes.angleDeg', pupil.vanes.angleDeg ?? 0);
  }
  if (pupil.clip !== undefined) {
    requireNames('pupil.clip', pupil.clip, 'distance angleDeg');
    requireFinite('pupil.clip.distance', pupil.clip.distance);
    requireFinite('pupil.clip.angleDeg', pupil.clip.angleDeg ?? 0);
  }
  if (pupil.footprint !== undefined) {
    requireNames('pupil.footprint', pupil.footprint, 'width height x y angleDeg');
    const { width, height, x = 0, y = 0, angleDeg = 0 } = pupil.footprint;
    requirePositive('pupil.footprint.width', width);
    requirePositive('pupil.footprint.height', height);
    requireFinite('pupil.footprint.x', x);
    requireFinite('pupil.footprint.y', y);
    requireFinite('pupil.footprint.angleDeg', angleDeg);
  }
  if (pupil.illumination !== undefined) requireIllumination(pupil.illumination);
}

function requireIllumination(illumination: Illumination): void {
  requireNames('pupil.illumination', illumination, 'gradient angleDeg radial');
  const { gradient = 0, angleDeg = 0, radial = 0 } = illumination;
  requireFinite('pupil.illumination.gradient', gradient);
  requireFinite('pupil.illumination.angleDeg', angleDeg);
  requireFinite('pupil.illumination.radial', radial);
  // Darkest along the gradient, at t in [-1, 1]: 1 - |gradient| t + radial t^2 is least at an end or at its
  // turning point.
  const steep = Math.abs(gradient);
  const turn = radial > 0 ? Math.min(1, steep / (2 * radial)) : 1;
  const least = Math.min(1, 1 - steep * turn + radial * turn * turn);
  requireNonNegative('pupil.illumination: its least intensity', least);
}
