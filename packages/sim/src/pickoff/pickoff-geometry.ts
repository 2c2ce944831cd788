/** Beam and mirror of a pick-off in numbers, and whether they can exist. */
import { fNumber } from '@holdfast/psf';
import {
  requireBelow,
  requireFinite,
  requireNames,
  requireNonNegative,
  requireObject,
  requirePositive,
} from '@holdfast/psf/numerics';
import { exitPupilDistance } from './pickoff-exit-pupil.ts';
import type { PickoffOptions } from './pickoff-options.ts';

/** Beam and mirror in numbers, checked. Lengths in mm. */
export interface PickoffGeometry {
  readonly fNumber: number;
  readonly obstructionRatio: number;
  /** 1 over the distance from exit pupil to sensor; 0 for a telecentric beam. */
  readonly convergence: number;
  readonly flangeDistance: number;
  readonly opening: number;
  readonly halfWidth: number;
  readonly depth: number;
  readonly distance: number;
  /**
   * From the sensor to the inner and the outer edge: the mirror is tilted by 45 degrees to send light
   * outwards.
   */
  readonly innerHeight: number;
  readonly outerHeight: number;
  readonly sensor: { readonly halfWidth: number; readonly halfHeight: number };
  /** Beyond this distance from the axis no light of any star reaches the inner edge. */
  readonly beamEnd: number;
}

/**
 * Check a pick-off.
 *
 * @throws RangeError or TypeError with name, value got and what is allowed, also for one that cannot exist:
 *         beyond the flange distance, larger than the opening that it is fed through, or where no light comes
 */
export function pickoffGeometry(options: PickoffOptions): PickoffGeometry {
  const { apertureMm, focalLengthMm, obstructionRatio, flangeDistanceMm, openingMm, mainSensor, mirror } =
    requireObject('options', options);
  requirePositive('apertureMm', apertureMm);
  requirePositive('focalLengthMm', focalLengthMm);
  requireBelow('obstructionRatio', obstructionRatio, 0, 1);
  requirePositive('flangeDistanceMm', flangeDistanceMm);
  requirePositive('openingMm', openingMm);
  requireNames('mainSensor', mainSensor, 'widthMm heightMm');
  requireNames('mirror', mirror, 'widthMm depthMm distanceMm');
  requirePositive('mainSensor.widthMm', mainSensor.widthMm);
  requirePositive('mainSensor.heightMm', mainSensor.heightMm);
  requirePositive('mirror.widthMm', mirror.widthMm);
  requirePositive('mirror.depthMm', mirror.depthMm);
  requirePositive('mirror.distanceMm', mirror.distanceMm);
  requireNonNegative('edgeFromAxisMm', options.edgeFromAxisMm);
  requireFinite('angleDeg', options.angleDeg ?? 90);
  requireBelow('allowedLossPercent', options.allowedLossPercent ?? 0, 0, 100);
  if (options.starOffAxisMm !== undefined) requireNonNegative('starOffAxisMm', options.starOffAxisMm);
  requireAtMost('mirror.widthMm', mirror.widthMm, openingMm, 'the opening');
  requireAtMost('mirror.depthMm', mirror.depthMm, openingMm, 'the opening');
  const innerHeight = mirror.distanceMm + mirror.depthMm / 2;
  const outerHeight = mirror.distanceMm - mirror.depthMm / 2;
  if (!(outerHeight > 0))
    throw new RangeError(
      `mirror.distanceMm must be > half its depth, ${mirror.depthMm / 2}, got ${mirror.distanceMm}`,
    );
  const highest = flangeDistanceMm - mirror.depthMm / 2;
  if (mirror.distanceMm > highest)
    throw new RangeError(
      `mirror.distanceMm must be <= flange distance less half the mirror's depth, ${highest}, got ${mirror.distanceMm}`,
    );
  const exitPupil = options.exitPupilDistanceMm ?? exitPupilDistance(options);
  if (!(exitPupil > flangeDistanceMm))
    throw new RangeError(
      `exitPupilDistanceMm must be > the flange distance ${flangeDistanceMm}, got ${exitPupil}`,
    );

  const beam = fNumber({ apertureMm, focalLengthMm });
  const convergence = 1 / exitPupil;
  // The ray from the far rim of the exit pupil past the near rim of the opening.
  const steepest = ((openingMm / 2) * convergence + 1 / (2 * beam)) / (1 - flangeDistanceMm * convergence);
  const beamEnd = openingMm / 2 + steepest * (flangeDistanceMm - innerHeight);
  if (!(options.edgeFromAxisMm < beamEnd))
    throw new RangeError(
      `edgeFromAxisMm must be < ${beamEnd.toPrecision(6)}, where the beam ends, got ${options.edgeFromAxisMm}`,
    );
  return {
    fNumber: beam,
    obstructionRatio,
    convergence,
    flangeDistance: flangeDistanceMm,
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
