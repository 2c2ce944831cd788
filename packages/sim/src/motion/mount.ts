/** What a mount does to the star by itself, and what it makes of corrections. */
import type { RandomStream } from '@holdfast/psf';
import { requireFinite, requireNonNegative, requirePositive, unitVector } from '@holdfast/psf/numerics';

/** One sine wave of the periodic error. */
export interface PeriodicError {
  /** Half of the way from peak to peak, arcsec. */
  readonly amplitudeArcsec: number;
  /** Its period, s, > 0. */
  readonly periodS: number;
  /** Phase at time 0, degrees of a sine. Default: drawn for each run. */
  readonly phaseDeg?: number;
}

/**
 * A mount, on the night sky in arcsec. x is the axis that turns all the time (right ascension), y the other
 * (declination).
 */
export interface Mount {
  /** Speed at which the star leaves its place without corrections, arcsec/s. */
  readonly driftArcsecPerS: { readonly x: number; readonly y: number };
  /** Of the x axis: the wave of one turn of the worm and its harmonics. */
  readonly periodicError: readonly PeriodicError[];
  /**
   * Play of the y axis, arcsec: on a reversal it turns by this before the star moves. The x axis never
   * reverses.
   */
  readonly backlashArcsec: number;
  /** Speed at which corrections are carried out, arcsec/s; Infinity: at once. */
  readonly correctionSpeedArcsecPerS: number;
}

/**
 * A small equatorial mount: polar axis off by 3 arcmin (0.013 arcsec/s at most), a worm of 480 s with two
 * harmonics, half of sidereal speed for corrections (common practice, no source).
 */
export const defaultMount: Mount = {
  driftArcsecPerS: { x: 0.005, y: 0.013 },
  periodicError: [
    { amplitudeArcsec: 6, periodS: 480 },
    { amplitudeArcsec: 1.5, periodS: 240 },
    { amplitudeArcsec: 0.4, periodS: 60 },
  ],
  backlashArcsec: 2,
  correctionSpeedArcsecPerS: 7.5,
};

/** The mount of a rig: its drift and periodic error, with the play and speed of `defaultMount`. */
export function mountOf({ tracking }: { readonly tracking: { readonly mount: MountFigures } }): Mount {
  const { driftXArcsecPerS, driftYArcsecPerS, periodicError } = tracking.mount;
  return { ...defaultMount, driftArcsecPerS: { x: driftXArcsecPerS, y: driftYArcsecPerS }, periodicError };
}

/** What a rig file says of its mount. */
interface MountFigures {
  readonly driftXArcsecPerS: number;
  readonly driftYArcsecPerS: number;
  readonly periodicError: readonly PeriodicError[];
}

/** A mount that moves the star by nothing and follows corrections at once. */
export const perfectMount: Mount = {
  driftArcsecPerS: { x: 0, y: 0 },
  periodicError: [],
  backlashArcsec: 0,
  correctionSpeedArcsecPerS: Infinity,
};

/** @throws RangeError or TypeError naming the field that is out of range */
export function requireMount(mount: Mount): void {
  requireFinite('mount.driftArcsecPerS.x', mount.driftArcsecPerS.x);
  requireFinite('mount.driftArcsecPerS.y', mount.driftArcsecPerS.y);
  mount.periodicError.forEach(({ amplitudeArcsec, periodS, phaseDeg = 0 }, i) => {
    requireNonNegative(`mount.periodicError[${i}].amplitudeArcsec`, amplitudeArcsec);
    requirePositive(`mount.periodicError[${i}].periodS`, periodS);
    requireFinite(`mount.periodicError[${i}].phaseDeg`, phaseDeg);
  });
  requireNonNegative('mount.backlashArcsec', mount.backlashArcsec);
  if (!(mount.correctionSpeedArcsecPerS > 0))
    throw new RangeError(
      `mount.correctionSpeedArcsecPerS must be > 0 (Infinity: at once), got ${mount.correctionSpeedArcsecPerS}`,
    );
}

/** Where a mount without corrections takes the star, arcsec from its place at time 0. */
export interface MountErrors {
  /** Drift and periodic error of the x axis. */
  x(timeS: number): number;
  /** Drift of the y axis. */
  y(timeS: number): number;
}

/** @param random  gives the phases that the mount leaves open */
export function prepareMountErrors(mount: Mount, random: RandomStream): MountErrors {
  const waves = mount.periodicError.map(({ amplitudeArcsec, periodS, phaseDeg }, i) => {
    const turn = phaseDeg === undefined ? random.stream('wave', i).uniform() : phaseDeg / 360;
    const sine = (timeS: number) => {
      const turns = timeS / periodS + turn;
      return unitVector(360 * (turns - Math.floor(turns))).y;
    };
    // The star stands on its place at time 0.
    const start = sine(0);
    return (timeS: number) => amplitudeArcsec * (sine(timeS) - start);
  });
  const { x: driftX, y: driftY } = mount.driftArcsecPerS;
  return {
    x(timeS) {
      let sum = driftX * timeS;
      for (const wave of waves) sum += wave(timeS);
      return sum;
    },
    y: (timeS) => driftY * timeS,
  };
}

/** A motor that carries out corrections: at limited speed, and through the play of its gear. */
export interface Motor {
  /** Ask for a move of the star, arcsec; it adds to what is still to do. */
  move(byArcsec: number): void;
  /** Go on for a while; returns the mean place of the star over it, arcsec from the start. */
  run(durationS: number): number;
}

export function prepareMotor(speedArcsecPerS: number, backlashArcsec: number): Motor {
  const half = backlashArcsec / 2;
  let toDo = 0;
  let gear = 0;
  let star = 0;
  return {
    move(byArcsec) {
      toDo += byArcsec;
    },
    run(durationS) {
      if (toDo === 0) return star;
      const before = star;
      const most = speedArcsecPerS * durationS;
      const go = Math.max(-most, Math.min(most, toDo));
      gear += go;
      toDo -= go;
      // Play: the star follows only once the gear pushes from one side.
      if (star < gear - half) star = gear - half;
      else if (star > gear + half) star = gear + half;
      return speedArcsecPerS === Infinity ? star : 0.5 * (before + star);
    },
  };
}
