/** What a pick-off is: the beam, the sensor that it must not shade, the mirror and where it stands. */
import { fNumber, type OffAxisOptions } from '@holdfast/psf';
import { requireBelow, requireFinite, requireNonNegative, requirePositive } from '@holdfast/psf/numerics';
import { exitPupilDistance } from './pickoff-exit-pupil.ts';

type WithoutPlace<Design> = Design extends unknown
  ? Omit<Design, 'apertureMm' | 'focalLengthMm' | 'offAxisMm' | 'angleDeg'>
  : never;
/** A telescope's design with its own numbers, as `offAxisAberrations` takes it, without aperture, focal length and place. */
export type TelescopeDesign = WithoutPlace<OffAxisOptions>;

/** A pick-off in front of the main sensor. Distances from the sensor are along the beam, against the light. */
export interface PickoffMount {
  /** From the last opening before the pick-off (draw tube, corrector, filter) to the main sensor, mm. */
  readonly backFocusMm: number;
  /** Clear diameter of that opening, mm: light of a star far from the axis that misses it is lost. */
  readonly openingMm: number;
  readonly mainSensor: { readonly widthMm: number; readonly heightMm: number };
  readonly mirror: {
    /** Across the direction to the axis, mm. */
    readonly widthMm: number;
    /** Along it, as seen along the light, mm: a mirror at 45 degrees is itself sqrt 2 longer. */
    readonly depthMm: number;
    /** From the mirror's middle to the main sensor, mm. */
    readonly distanceMm: number;
  };
  /** Distance of the mirror's inner edge from the optical axis, mm: the less, the deeper it reaches into the beam. */
  readonly edgeFromAxisMm: number;
  /** Direction from the axis to the mirror, degrees from the sensor's +x (its width) towards +y. Default 90. */
  readonly angleDeg?: number;
  /** Largest loss of light that is accepted at any pixel of the main sensor, in [0, 1). Default 0.02. */
  readonly allowedLoss?: number;
  /** Gives coma, astigmatism and field curvature of the guide star, and the exit pupil of a two-mirror telescope. */
  readonly design?: TelescopeDesign;
  /**
   * From the exit pupil to the main sensor, mm; Infinity for a telecentric beam. Default: by the design of a two-mirror
   * telescope, else the focal length, as where the first mirror or lens is the stop.
   */
  readonly exitPupilDistanceMm?: number;
  /** Distance of the guide star from the axis in the main focal plane, mm. Default: what the mirror's middle reflects. */
  readonly starOffAxisMm?: number;
}

/** A pick-off and the telescope that it stands behind. */
export interface PickoffOptions extends PickoffMount {
  readonly apertureMm: number;
  /** Of the whole telescope, with any reducer or corrector. */
  readonly focalLengthMm: number;
  /** Linear central obstruction, in [0, 1). */
  readonly obstructionRatio: number;
}

/** Beam and mirror in numbers, checked. Lengths in mm. */
export interface PickoffGeometry {
  readonly fNumber: number;
  readonly obstructionRatio: number;
  /** 1 over the distance from exit pupil to sensor; 0 for a telecentric beam. */
  readonly convergence: number;
  readonly backFocus: number;
  readonly opening: number;
  readonly halfWidth: number;
  readonly depth: number;
  readonly distance: number;
  /** From the sensor to the inner and the outer edge: the mirror is tilted by 45 degrees to send light outwards. */
  readonly innerHeight: number;
  readonly outerHeight: number;
  readonly sensor: { readonly halfWidth: number; readonly halfHeight: number };
  /** Beyond this distance from the axis no light of any star reaches the inner edge. */
  readonly beamEnd: number;
}

/**
 * Check a pick-off.
 *
 * @throws RangeError or TypeError with name, value got and what is allowed, also for one that cannot exist: beyond the back
 *         focus, larger than the opening that it is fed through, or where no light comes
 */
export function pickoffGeometry(options: PickoffOptions): PickoffGeometry {
  const { apertureMm, focalLengthMm, obstructionRatio, backFocusMm, openingMm, mainSensor, mirror } = options;
  requirePositive('apertureMm', apertureMm);
  requirePositive('focalLengthMm', focalLengthMm);
  requireBelow('obstructionRatio', obstructionRatio, 0, 1);
  requirePositive('backFocusMm', backFocusMm);
  requirePositive('openingMm', openingMm);
  requirePositive('mainSensor.widthMm', mainSensor?.widthMm);
  requirePositive('mainSensor.heightMm', mainSensor?.heightMm);
  requirePositive('mirror.widthMm', mirror?.widthMm);
  requirePositive('mirror.depthMm', mirror?.depthMm);
  requirePositive('mirror.distanceMm', mirror?.distanceMm);
  requireNonNegative('edgeFromAxisMm', options.edgeFromAxisMm);
  requireFinite('angleDeg', options.angleDeg ?? 90);
  requireBelow('allowedLoss', options.allowedLoss ?? 0, 0, 1);
  if (options.starOffAxisMm !== undefined) requireNonNegative('starOffAxisMm', options.starOffAxisMm);
  requireAtMost('mirror.widthMm', mirror.widthMm, openingMm, 'the opening');
  requireAtMost('mirror.depthMm', mirror.depthMm, openingMm, 'the opening');
  const innerHeight = mirror.distanceMm + mirror.depthMm / 2;
  const outerHeight = mirror.distanceMm - mirror.depthMm / 2;
  if (!(outerHeight > 0))
    throw new RangeError(
      `mirror.distanceMm must be > half its depth, ${mirror.depthMm / 2}, got ${mirror.distanceMm}`,
    );
  const highest = backFocusMm - mirror.depthMm / 2;
  if (mirror.distanceMm > highest)
    throw new RangeError(
      `mirror.distanceMm must be <= back focus less half the mirror's depth, ${highest}, got ${mirror.distanceMm}`,
    );
  const exitPupil = options.exitPupilDistanceMm ?? exitPupilDistance(options);
  if (!(exitPupil > backFocusMm))
    throw new RangeError(`exitPupilDistanceMm must be > the back focus ${backFocusMm}, got ${exitPupil}`);

  const beam = fNumber(apertureMm, focalLengthMm);
  const convergence = 1 / exitPupil;
  // The ray from the far rim of the exit pupil past the near rim of the opening.
  const steepest = ((openingMm / 2) * convergence + 1 / (2 * beam)) / (1 - backFocusMm * convergence);
  const beamEnd = openingMm / 2 + steepest * (backFocusMm - innerHeight);
  if (!(options.edgeFromAxisMm < beamEnd))
    throw new RangeError(
      `edgeFromAxisMm must be < ${beamEnd.toPrecision(6)}, where the beam ends, got ${options.edgeFromAxisMm}`,
    );
  return {
    fNumber: beam,
    obstructionRatio,
    convergence,
    backFocus: backFocusMm,
    opening: openingMm,
    halfWidth: mirror.widthMm / 2,
    depth: mirror.depthMm,
    distance: mirror.distanceMm,
    innerHeight,
    outerHeight,
    sensor: { halfWidth: mainSensor.widthMm / 2, halfHeight: mainSensor.heightMm / 2 },
    beamEnd,
  };
}

function requireAtMost(name: string, value: number, most: number, what: string): void {
  if (value > most) throw new RangeError(`${name} must be <= ${what}, ${most}, got ${value}`);
}
