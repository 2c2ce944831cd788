/**
 * What a diffraction image may get wrong, and how finely and over how wide a field it must be calculated for
 * that.
 */

import { writePhasor } from '../numerics/angle.ts';
import { exp, log } from '../numerics/exp-log.ts';
import { fastLength } from '../numerics/fourier/radix-passes.ts';
import { requireNames } from '../numerics/options.ts';
import { requireInteger, requireWithin } from '../numerics/require.ts';
import type { ZernikeSum } from '../waves/zernike.ts';

/** Each knob bounds one error; the defaults suit a guide camera. */
export interface DiffractionAccuracy {
  /**
   * Samples across the pupil at the longest wavelength, at least; from 16 to 2048. The image is drawn out to
   * between 0.42 and 0.5 times as many lambda F from the star. What lies beyond is left out and counts as
   * light outside the stamp: of a sharp image some 0.4 / ((1 - obstruction) samples), of an image blurred by
   * seeing a little more. Default 160.
   */
  readonly minPupilSamples?: number;
  /**
   * Samples across the pupil at the shortest wavelength, at most; from 16 to 2048. Time and memory grow as
   * its square (1024: 130 MB and seconds). A shape that needs more is refused. Default 1024.
   */
  readonly maxPupilSamples?: number;
  /**
   * Share of the light that seeing throws further than half the period of the calculation and that folds back
   * into it, at most; from 1e-4 to 0.1. A stamp receives of it about its own share of the period's area.
   * Default 2e-3.
   */
  readonly foldedLight?: number;
  /**
   * Error of a pixel from leaving out the finest waves of the image, as a share of the flux, at most; from 0
   * to 1e-3. Default 1e-10.
   */
  readonly pixelError?: number;
}

const defaultDiffractionAccuracy: Required<DiffractionAccuracy> = {
  minPupilSamples: 160,
  maxPupilSamples: 1024,
  foldedLight: 2e-3,
  pixelError: 1e-10,
};

/**
 * Accuracy with its defaults filled in.
 *
 * @throws RangeError or TypeError naming the knob that is out of range
 */
export function resolveAccuracy(accuracy: DiffractionAccuracy = {}): Required<DiffractionAccuracy> {
  const { minPupilSamples, maxPupilSamples, foldedLight, pixelError } = {
    ...defaultDiffractionAccuracy,
    ...requireNames('accuracy', accuracy, 'minPupilSamples maxPupilSamples foldedLight pixelError'),
  };
  requireInteger('accuracy.maxPupilSamples', maxPupilSamples, 16, 2048);
  requireInteger('accuracy.minPupilSamples', minPupilSamples, 16, maxPupilSamples);
  requireWithin('accuracy.foldedLight', foldedLight, 1e-4, 0.1);
  requireWithin('accuracy.pixelError', pixelError, 0, 1e-3);
  return { minPupilSamples, maxPupilSamples, foldedLight, pixelError };
}

/** The grid on which a diffraction image is computed. */
export interface DiffractionSampling {
  /**
   * Side of the square over which the image is calculated, px, and um. The image is taken as repeating.
   */
  readonly periodPx: number;
  /** The same side, um. */
  readonly periodUm: number;
  /** The image is whole up to this distance from the star, px, and left out beyond half a period. */
  readonly reachPx: number;
  /** Samples across the pupil at the shortest wavelength: the period in units of lambda F. */
  readonly pupilSamples: number;
  /** Side of the Fourier transforms. */
  readonly transformSize: number;
  /** Finest wave that the optics let through, in waves a period. */
  readonly lastWave: number;
}

/** Distance from the star, in periods, up to which the image is whole; it is gone at half a period. */
export const wholeReach = 0.42;

/** Side of the shortest square that holds so many waves and is transformed quickly, half empty or not. */
export const transformLength = (least: number): number => fastLength(least, 32);

export interface SamplingNeeds {
  /** Wavefronts, one for each wavelength that has its own. */
  readonly surfaces: readonly ZernikeSum[];
  readonly fNumber: number;
  readonly pixelSizeUm: number;
  readonly shortestNm: number;
  readonly longestNm: number;
  /** FWHM of the seeing at the shortest wavelength, um on the sensor; 0 for none. */
  readonly seeingFwhmUm: number;
  readonly accuracy: Required<DiffractionAccuracy>;
}

/**
 * Choose the period and the number of pupil samples. They depend on the star alone: it looks the same on
 * every stamp.
 *
 * A cell of the pupil grid is 2 lambda F / period wide (in pupil radii), so that the phase difference between
 * neighbors, slope of W times cell, reaches half a wave just where a ray lands half a period from the star:
 * that the pupil is sampled finely enough and that the geometric image fits into the period is one condition.
 *
 * @throws RangeError with the pupil samples needed and allowed
 */
export function chooseSampling({
  surfaces,
  fNumber,
  pixelSizeUm,
  shortestNm,
  longestNm,
  seeingFwhmUm,
  accuracy,
}: SamplingNeeds): DiffractionSampling {
  const farthestRayUm = (2 * fNumber * Math.max(...surfaces.map(steepestSlope))) / 1000;
  const reasons: [number, string][] = [
    [(accuracy.minPupilSamples * longestNm * fNumber) / 1000, 'accuracy.minPupilSamples'],
    [farthestRayUm / (wholeReach - 0.06), `light up to ${farthestRayUm.toPrecision(4)} µm from the star`],
    [2 * foldRadius(accuracy.foldedLight) * seeingFwhmUm, `seeing of ${seeingFwhmUm.toPrecision(4)} µm`],
  ];
  let [leastUm, reason] = reasons[0];
  for (const [um, because] of reasons) if (um > leastUm) [leastUm, reason] = [um, because];

  const periodPx = fastLength(leastUm / pixelSizeUm, 4);
  const periodUm = periodPx * pixelSizeUm;
  const pupilSamples = (1000 * periodUm) / (shortestNm * fNumber);
  if (pupilSamples > accuracy.maxPupilSamples)
    throw new RangeError(
      `pupil samples: needs ${Math.ceil(pupilSamples)} for ${reason}, got accuracy.maxPupilSamples = ${accuracy.maxPupilSamples}; allow up to 2048, or draw it by rays`,
    );
  const transformSize = transformLength(2 * Math.ceil(pupilSamples));
  return {
    periodPx,
    periodUm,
    reachPx: wholeReach * periodPx,
    pupilSamples,
    transformSize,
    lastWave: Math.min(Math.ceil(pupilSamples), transformSize / 2 - 1),
  };
}

/**
 * Distance, in FWHM, beyond which a share of the light of a Kolmogorov image lies: 1 - EE(r) = 0.0899 (r /
 * FWHM)^(-5/3) for large r, from the first term in which exp(-3.441939 (lambda f / r0)^(5/3)) departs from 1
 * (derived).
 */
function foldRadius(share: number): number {
  return exp(0.6 * log(0.0899 / share));
}

/** Largest slope of a wavefront over the aperture, nm a pupil radius, on 16 circles of 64 points. */
function steepestSlope(surface: ZernikeSum): number {
  const point = { value: 0, slopeX: 0, slopeY: 0 };
  const direction = new Float64Array(2);
  let steepest = 0;
  for (let ring = 0; ring <= 16; ring++) {
    for (let k = 0; k < 64; k++) {
      writePhasor(direction, 0, k / 64);
      surface.evaluate((ring / 16) * direction[0], (ring / 16) * direction[1], point);
      steepest = Math.max(steepest, point.slopeX * point.slopeX + point.slopeY * point.slopeY);
    }
  }
  return Math.sqrt(steepest);
}
