/**
 * What a wavefront does on average over the light of a pupil: where the star's center of mass lands, how
 * sharp it is.
 */

import { writePhasor } from '../numerics/angle.ts';
import { requireNames } from '../numerics/options.ts';
import { requirePositive } from '../numerics/require.ts';
import { type Pupil, pupilIntensity, requirePupil } from './pupil.ts';
import { pupilNodes } from './pupil-moments.ts';
import { type Wavefront, wavefrontSurface } from './wavefront.ts';
import type { ZernikeSum } from './zernike.ts';

/** A pupil and the wave in it. */
export interface PupilWave {
  /** The pupil that the light passes. */
  readonly pupil: Pupil;
  /** The wave in the pupil; OPD > 0 is retarded. */
  readonly wavefront: Wavefront;
  /** Focal length over aperture, > 0.5. */
  readonly fNumber: number;
}

/** The names of a wave; a star shape made of one may be given whole. */
const waveNames = [
  'pupil wavefront fNumber kind pixelSizeUm wavelengthNm seeing accuracy blurFwhmPx',
  'fineness',
] as const;

/** The surface of a wave, which is checked. */
function surfaceOf(wave: PupilWave): ZernikeSum {
  const { pupil, wavefront, fNumber } = requireNames('wave', wave, ...waveNames);
  requirePupil(pupil);
  return wavefrontSurface(wavefront, fNumber);
}

/**
 * The light of a star by geometric optics, on the sensor, from the point (x, y) that a render is asked for.
 */
export interface LightCentroid {
  /** Center of mass, um. */
  readonly xUm: number;
  /** The same along y, um. */
  readonly yUm: number;
  /** Mean square distances from it, um^2. */
  readonly xxUm2: number;
  /** Mean product of both distances, um^2. */
  readonly xyUm2: number;
  /** As `xxUm2`, along y. */
  readonly yyUm2: number;
}

/**
 * Center of mass and spread of a star's light: 2 F times the mean slope of the wavefront over the light of
 * the pupil, and (2 F)^2 times the slope's variance.
 *
 * The center of mass of the wave's own image is the same (Teague 1982, JOSA 72, 1199; Mahajan 1985, JOSA A 2,
 * 833, from memory), but an image of a sharp-edged pupil comes near it only as 1 / (size of the window). Its
 * second moment exceeds the geometric one by an amount that grows with the window. Wavefronts of any order,
 * exact to some 1e-13.
 *
 * ```ts
 * lightCentroid({ pupil: { obstructionRatio: 0, clip: { distance: 0.5 } }, wavefront: { focusShiftUm: 500 }, fNumber: 5 })
 * // xUm: +8.566: the side that is left sends its light across the axis
 * ```
 * @throws RangeError or TypeError naming the argument that is out of range
 */
export function lightCentroid(wave: PupilWave): LightCentroid {
  const surface = surfaceOf(wave);
  const { pupil, fNumber } = wave;
  const { x, y, weights } = pupilNodes(pupil, Math.max(0, 2 * (surface.order - 1)));
  const point = { value: 0, slopeX: 0, slopeY: 0 };
  let light = 0;
  const sums = [0, 0, 0, 0, 0];
  for (let k = 0; k < weights.length; k++) {
    surface.evaluate(x[k], y[k], point);
    light += weights[k];
    sums[0] += weights[k] * point.slopeX;
    sums[1] += weights[k] * point.slopeY;
    sums[2] += weights[k] * point.slopeX * point.slopeX;
    sums[3] += weights[k] * point.slopeX * point.slopeY;
    sums[4] += weights[k] * point.slopeY * point.slopeY;
  }
  const umPerSlope = (2 * fNumber) / 1000;
  const [slopeX, slopeY, xx, xy, yy] = sums.map((sum) => sum / light);
  return {
    xUm: umPerSlope * slopeX,
    yUm: umPerSlope * slopeY,
    xxUm2: umPerSlope * umPerSlope * (xx - slopeX * slopeX),
    xyUm2: umPerSlope * umPerSlope * (xy - slopeX * slopeY),
    yyUm2: umPerSlope * umPerSlope * (yy - slopeY * slopeY),
  };
}

/**
 * Root mean square of a wavefront over the light of a pupil, its mean taken off, nm; exact to some 1e-13.
 *
 * ```ts
 * wavefrontRmsNm({ pupil: { obstructionRatio: 0 }, wavefront: { zernikesNm: { 4: 30, 8: 40 } }, fNumber: 5 }) // 50
 * ```
 * @throws RangeError or TypeError naming the argument that is out of range
 */
export function wavefrontRmsNm(wave: PupilWave): number {
  const surface = surfaceOf(wave);
  const { x, y, weights } = pupilNodes(wave.pupil, 2 * surface.order);
  const point = { value: 0, slopeX: 0, slopeY: 0 };
  const values = new Float64Array(weights.length);
  let light = 0;
  let mean = 0;
  for (let k = 0; k < weights.length; k++) {
    surface.evaluate(x[k], y[k], point);
    values[k] = point.value;
    light += weights[k];
    mean += weights[k] * point.value;
  }
  mean /= light;
  let square = 0;
  for (let k = 0; k < weights.length; k++) square += weights[k] * (values[k] - mean) * (values[k] - mean);
  return Math.sqrt(square / light);
}

/**
 * Light at the point (x, y) that a render is asked for over what a perfect wave of the same pupil would bring
 * there:
 *
 *   S = |mean of sqrt(intensity) exp(2 pi i W / lambda)|^2 / (mean of sqrt(intensity))^2
 *
 * where the means run over the open area. Exact to some 1e-10 while W changes by less than about ten waves
 * over the pupil.
 *
 * @throws RangeError or TypeError naming the argument that is out of range
 */
export function strehlRatio(wave: PupilWave & { readonly wavelengthNm: number }): number {
  const surface = surfaceOf(wave);
  const { pupil, wavelengthNm } = wave;
  requirePositive('wavelengthNm', wavelengthNm);
  const { illumination: _, ...open } = pupil;
  const { x, y, weights } = pupilNodes(open, 64);
  const intensity = pupilIntensity(pupil);
  const point = { value: 0, slopeX: 0, slopeY: 0 };
  const phasor = new Float64Array(2);
  let perfect = 0;
  let re = 0;
  let im = 0;
  for (let k = 0; k < weights.length; k++) {
    surface.evaluate(x[k], y[k], point);
    writePhasor(phasor, 0, point.value / wavelengthNm);
    const share = weights[k] * Math.sqrt(intensity(x[k], y[k]));
    perfect += share;
    re += share * phasor[0];
    im += share * phasor[1];
  }
  return (re * re + im * im) / (perfect * perfect);
}
