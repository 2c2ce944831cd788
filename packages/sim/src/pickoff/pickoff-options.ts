/** What a pick-off is: the beam, the sensor that it must not shade, the mirror and where it stands. */
import type { OffAxisOptions } from '@holdfast/psf';

type WithoutPlace<Design> = Design extends unknown
  ? Omit<Design, 'apertureMm' | 'focalLengthMm' | 'offAxisMm' | 'angleDeg'>
  : never;
/**
 * A telescope's design with its own numbers, as `offAxisAberrations` takes it, without aperture, focal length
 * and place.
 */
export type TelescopeDesign = WithoutPlace<OffAxisOptions>;

/**
 * A pick-off in front of the main sensor. Distances from the sensor are along the beam, against the light.
 */
export interface PickoffMount {
  /** From the last opening before the pick-off (draw tube, corrector, filter) to the main sensor, mm. */
  readonly flangeDistanceMm: number;
  /** Clear diameter of that opening, mm: light of a star far from the axis that misses it is lost. */
  readonly openingMm: number;
  /** Sides of the main sensor, mm. */
  readonly mainSensor: { readonly widthMm: number; readonly heightMm: number };
  /** The mirror and its place. */
  readonly mirror: {
    /** Across the direction to the axis, mm. */
    readonly widthMm: number;
    /** Along it, as seen along the light, mm: a mirror at 45 degrees is itself sqrt 2 longer. */
    readonly depthMm: number;
    /** From the mirror's middle to the main sensor, mm. */
    readonly distanceMm: number;
  };
  /**
   * Distance of the mirror's inner edge from the optical axis, mm: the less, the deeper it reaches into the
   * beam.
   */
  readonly edgeFromAxisMm: number;
  /**
   * Direction from the axis to the mirror, degrees from the sensor's +x (its width) toward +y. Default 90.
   */
  readonly angleDeg?: number;
  /** Largest loss of light that is accepted at any pixel of the main sensor, %, in [0, 100). Default 2. */
  readonly allowedLossPercent?: number;
  /**
   * Gives coma, astigmatism and field curvature of the guide star, and the exit pupil of a two-mirror
   * telescope.
   */
  readonly design?: TelescopeDesign;
  /**
   * From the exit pupil to the main sensor, mm; Infinity for a telecentric beam. Default: by the design of a
   * two-mirror telescope, else the focal length, as where the first mirror or lens is the stop.
   */
  readonly exitPupilDistanceMm?: number;
  /**
   * Distance of the guide star from the axis in the main focal plane, mm. Default: what the mirror's middle
   * reflects.
   */
  readonly starOffAxisMm?: number;
}

/** A pick-off and the telescope that it stands behind. */
export interface PickoffOptions extends PickoffMount {
  /** Diameter of the entrance pupil, mm. */
  readonly apertureMm: number;
  /** Of the whole telescope, with any reducer or corrector. */
  readonly focalLengthMm: number;
  /** Linear central obstruction, in [0, 1). */
  readonly obstructionRatio: number;
}

/** A rig's telescope and pick-off may be given as they are: what is of no use here is known all the same. */
export const pickoffNames = [
  'flangeDistanceMm openingMm mainSensor mirror edgeFromAxisMm angleDeg allowedLossPercent design',
  'exitPupilDistanceMm starOffAxisMm apertureMm focalLengthMm obstructionRatio throughput guideAngleDeg',
] as const;
