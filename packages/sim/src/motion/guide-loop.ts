/**
 * The loop of a rig as one linear system: what it makes of noise, of the air and of the mount. Advice and
 * tracking share it.
 */
import { requireFinite, requireNames, requirePositive, requireWithin, shown } from '@holdfast/psf/numerics';
import type { Rig } from '../rig/rig-schema.ts';
import { airInLoop, type ChasedAirOptions, sharedAir } from './chased-air.ts';
import { correctionShares, errorTransfer } from './loop-response.ts';

/** The loop, as the rig has it but for what is given here. */
export interface LoopChange {
  readonly exposureS?: number;
  readonly proportionalGain?: number;
  readonly seeingFwhmArcsec?: number;
  /** Change of the measured position per change of the true one. Default 1. */
  readonly response?: number;
  /** Stars whose measured positions are averaged. Default 1. */
  readonly stars?: number;
}

/** What the loop makes of things. Rms of one axis, arcsec, mean of both where they differ. */
export interface LoopEffect {
  /**
   * Rms that noise leaves in the corrected position over the noise-equivalent error: sqrt(G / (2 - G)), G =
   * gain x response.
   */
  readonly noiseFactor: number;
  /** Added by following the air. */
  readonly airArcsec: number;
  /** Left of the drift and the periodic error of the mount. */
  readonly mountArcsec: number;
  /** How far frames see the star from its set point, by air and mount: what the response is asked for. */
  readonly seenArcsec: number;
}

/**
 * Noise of the corrected position over noise of one measured position, for white measurement noise and a
 * proportional gain g, one frame's delay and no dead zone: sqrt(g / (2 - g)). Textbook control theory: the
 * loop is a first-order recursive filter.
 */
export function loopNoiseFactor(proportionalGain: number): number {
  if (
    !(typeof proportionalGain === 'number' && proportionalGain > 1 / Number.MAX_VALUE && proportionalGain < 2)
  )
    throw new RangeError(`proportionalGain must be in (0, 2), got ${shown(proportionalGain)}`);
  return Math.sqrt(proportionalGain / (2 - proportionalGain));
}

/**
 * A method that answers to a displacement by the share r (its response) makes a loop of gain g work with G =
 * g r. With scatter s of the measured position and white motion a of the star in the air, the corrected
 * position has the variance
 *
 *   g (s^2 + (r a)^2) / (r (2 - g r)) = G / (2 - G) ((s / r)^2 + a^2),
 *
 * so s / r, the noise-equivalent error, is what counts of the noise. Air that is not white: `airInLoop` with
 * G. Slow motion of the mount is left to the share |1 / (1 + L)| at its frequency (`errorTransfer` with G),
 * and moves within each interval.
 *
 * @returns undefined where the loop is unstable or has no gain: G >= 2 or G <= 0
 */
export function loopEffect(rig: Rig, change: LoopChange = {}): LoopEffect | undefined {
  requireNames('change', change, 'exposureS proportionalGain seeingFwhmArcsec response stars');
  const { stars = 1, response = 1 } = change;
  requireFinite('response', response);
  requireWithin('stars', stars, 1, 1000);
  if (change.exposureS !== undefined) requirePositive('exposureS', change.exposureS);
  if (change.seeingFwhmArcsec !== undefined) requirePositive('seeingFwhmArcsec', change.seeingFwhmArcsec);
  if (change.proportionalGain !== undefined) requireFinite('proportionalGain', change.proportionalGain);
  const air = airOptions(rig, change);
  const gain = air.proportionalGain;
  if (!(gain > 0 && gain < 2)) return undefined;
  const { chasedArcsec, seenArcsec } = airInLoop(air);
  const correlation = stars > 1 ? sharedAir(air, starSeparationM(rig)) : 1;
  const airShare = Math.sqrt((1 + (stars - 1) * correlation) / stars);
  const mountArcsec = mountLeft(rig, air.intervalS, gain);
  return {
    noiseFactor: loopNoiseFactor(gain) / Math.sqrt(stars),
    airArcsec: airShare * chasedArcsec,
    mountArcsec,
    seenArcsec: Math.sqrt(seenArcsec ** 2 + mountArcsec ** 2),
  };
}

function airOptions(
  { sky, telescope, guideCamera, tracking }: Rig,
  { exposureS = guideCamera.exposureS, proportionalGain, seeingFwhmArcsec, response = 1 }: LoopChange,
): ChasedAirOptions {
  return {
    seeingFwhmArcsec: seeingFwhmArcsec ?? sky.seeingFwhmArcsec,
    wavelengthNm: guideCamera.wavelengthNm,
    apertureMm: telescope.apertureMm,
    obstructionRatio: telescope.obstructionRatio,
    windMPerS: sky.windMPerS,
    exposureS,
    intervalS: exposureS + tracking.correctionDelayS,
    proportionalGain: response * (proportionalGain ?? tracking.proportionalGain),
  };
}

/**
 * Rms of one axis (mean square of both) of what the loop leaves of the mount's own motion, arcsec. A steady
 * drift leaves a steady lag, which is no error in a picture, and a saw tooth of one interval; a wave of the
 * periodic error is left in part.
 */
function mountLeft({ tracking }: Rig, intervalS: number, gain: number): number {
  const { driftXArcsecPerS, driftYArcsecPerS, periodicError } = tracking.mount;
  // Corrections are done before the next exposure, as the rig's delay says.
  const shares = correctionShares({ exposureS: intervalS, delayS: 0, intervalS });
  let square = 0;
  let speed2 = driftXArcsecPerS ** 2 + driftYArcsecPerS ** 2;
  for (const { amplitudeArcsec, periodS } of periodicError) {
    const left = errorTransfer(shares, { proportionalGain: gain }, intervalS / periodS);
    square += (amplitudeArcsec * left) ** 2 / 2;
    speed2 += ((2 * Math.PI * amplitudeArcsec) / periodS) ** 2 / 2;
  }
  return Math.sqrt((square + (speed2 * intervalS ** 2) / 12) / 2);
}

/**
 * Distance at which the beams of two guide stars pass the turbulence: half the width of the guide sensor as
 * an angle, m.
 */
function starSeparationM({ guideCamera, telescope, sky }: Rig): number {
  const angle = (guideCamera.widthPx * guideCamera.pixelSizeUm) / 2 / (1000 * telescope.focalLengthMm);
  return angle * sky.turbulenceHeightM;
}
