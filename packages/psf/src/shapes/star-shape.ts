/** Every star that can be drawn, and the two that are made of other stars. */
import type { DiffractionShape } from '../diffraction/diffraction.ts';
import type { AnnulusShape } from './annulus.ts';
import type { ComaShape } from './coma.ts';
import type { GaussianShape } from './gaussian.ts';
import type { MoffatShape } from './moffat.ts';
import type { OwnShape } from './own-shape.ts';
import type { RayShape } from './ray-spot.ts';
import type { TableShape } from './table.ts';

/** The light of one star, discriminated by `kind`. Lengths in px, angles in degrees from +x toward +y. */
export type StarShape =
  | GaussianShape
  | MoffatShape
  | AnnulusShape
  | ComaShape
  | DiffractionShape
  | RayShape
  | TableShape
  | OwnShape
  | TrailedShape
  | StarGroupShape;

/** Any star, moved while the shutter is open. The position of a render is the mean of the motion. */
export interface TrailedShape {
  readonly kind: 'trailed';
  /** The star at rest. */
  readonly shape: StarShape;
  /** A drift at constant speed, or a path point by point. */
  readonly motion: StraightDrift | readonly PathPoint[];
}

/** Motion at constant speed. */
export interface StraightDrift {
  /** From the start to the end of the exposure, px, in [0, 200]. */
  readonly lengthPx: number;
  /** Degrees from +x toward +y; the opposite direction leaves the same trail. */
  readonly angleDeg: number;
}

/**
 * Where the star stood for a part of the exposure. Only differences matter: the mean of the path is taken
 * off.
 */
export interface PathPoint {
  /** Place along x, px. */
  readonly dxPx: number;
  /** Place along y, px. */
  readonly dyPx: number;
  /** Share of the exposure, in any unit, >= 0. Default 1: points at equal intervals. */
  readonly weight?: number;
}

/**
 * A star with others near it. Position and flux of a render are those of the main star alone: the neighbors'
 * light comes on top, so the stamp's sum exceeds the flux, and its center of mass is not the asked position.
 * That is what a group is for: to see how far a neighbor pulls an estimator. The fraction that `renderInto`
 * returns is that of the light of all stars.
 */
export interface StarGroupShape {
  readonly kind: 'group';
  /** The main star. */
  readonly star: StarShape;
  /** At most 1000. */
  readonly neighbors: readonly Neighbor[];
}

/** Another star in the stamp of the main one. */
export interface Neighbor {
  /** From the main star, px. */
  readonly dxPx: number;
  /** From the main star, px. */
  readonly dyPx: number;
  /**
   * Magnitude of the neighbor less that of the main star, in [-25, 25]: > 0 when the neighbor is the fainter
   * one.
   */
  readonly magnitudeDifference: number;
  /** Default: the shape of the main star, as neighbors share its seeing and focus. */
  readonly shape?: StarShape;
}
