/**
 * A star in a short exposure: the air over the aperture frozen into a screen that the wind carries along, so
 * that rings break into speckles and the image moves.
 */

import type { RandomStream } from '../chance/random.ts';
import {
  chooseSampling,
  type DiffractionAccuracy,
  type DiffractionSampling,
  resolveAccuracy,
} from '../diffraction/diffraction-sampling.ts';
import { negligibleWave, prepareSpectrumImage } from '../diffraction/spectrum-image.ts';
import { prepareSummedImage } from '../diffraction/summed-image.ts';
import { createImage, type Image, maxImageSide } from '../image/image.ts';
import { arcsecPerRadian } from '../numerics/angle.ts';
import { requireNames } from '../numerics/options.ts';
import {
  requireFinite,
  requireInteger,
  requireNonNegative,
  requireObject,
  requirePositive,
} from '../numerics/require.ts';
import { requireFNumber } from '../optics/optics.ts';
import { type ImageSize, starPlan } from '../shapes/star-plan.ts';
import { prepareMeanSlope } from '../waves/mean-slope.ts';
import { type Pupil, requirePupil } from '../waves/pupil.ts';
import { type Wavefront, wavefrontSurface } from '../waves/wavefront.ts';
import { preparePhaseScreen } from './phase-screen.ts';
import { friedParameterMm, requireSeeing, type Seeing, seeingFwhmArcsec } from './seeing.ts';

/** Telescope, air and pixels of one short exposure. */
export interface ShortExposureOptions extends ImageSize {
  /** The pupil that the light passes. */
  readonly pupil: Pupil;
  /** The telescope's own wavefront, focus shift included. */
  readonly wavefront: Wavefront;
  /** Focal length over aperture of the beam at the sensor, > 0.5. */
  readonly fNumber: number;
  /** Diameter of the telescope, mm, > 0. */
  readonly apertureMm: number;
  /** One wavelength. A band would smooth the speckles. */
  readonly wavelengthNm: number;
  /** Side of a pixel, um, > 0. */
  readonly pixelSizeUm: number;
  /** The air, by its long-exposure seeing. */
  readonly seeing: Seeing;
  /** Speed at which the screen crosses the aperture, m/s, >= 0. */
  readonly windMPerS: number;
  /** Direction in which it crosses, on the sensor's axes, degrees from +x toward +y. Default 0. */
  readonly windAngleDeg?: number;
  /** Exposure time, s, > 0. */
  readonly exposureS: number;
  /**
   * Largest travel of the screen between two of the moments that an exposure is made of, mm. Default a
   * quarter of the aperture, but not more than a third of the Fried parameter.
   */
  readonly maxTravelMm?: number;
  /** How exact the image is to be. */
  readonly accuracy?: DiffractionAccuracy;
}

/** Where a star is drawn, and how bright. */
export interface StarAt {
  /** Column and row of the undisturbed star (where the chief ray lands), px. */
  readonly x: number;
  /** Row of the star, px. */
  readonly y: number;
  /** Electrons of the star over the whole plane, in this exposure. */
  readonly flux: number;
  /** When the exposure starts, s from the start of this sky. Default 0. */
  readonly startS?: number;
}

/** What the air did in one exposure. */
export interface AirMotion {
  /** Share of the star's light within the stamp, 0 to 1, also for a flux of 0. */
  readonly heldFraction: number;
  /** The moments of the exposure, s from the start of this sky. */
  readonly timesS: Float64Array;
  /**
   * How far the air has moved the center of mass at each moment, px: the mean slope of the screen over the
   * pupil.
   */
  readonly pathX: Float64Array;
  /** The same along y. */
  readonly pathY: Float64Array;
  /** The means of the path: where the center of mass of the whole exposure lies. */
  readonly meanX: number;
  /** The same along y. */
  readonly meanY: number;
}

/**
 * Exposures of one star through one sky after the other. It holds its own scratch: one plan serves one caller
 * at a time.
 */
export interface ShortExposurePlan extends ImageSize {
  /** Moments that each exposure is made of. */
  readonly steps: number;
  /** Samples across the aperture. */
  readonly pupilSamples: number;
  /** Start another sky, independent of all before if the stream is. */
  renew(random: RandomStream): void;
  /**
   * Overwrite `out` with the expected electrons per pixel of one exposure.
   *
   * @param out  image of the plan's size (any stride), or its row-major pixels
   * @throws RangeError if `out` has another size or a field of `star` is out of range
   */
  exposeInto(out: Image | Float64Array, star: StarAt): AirMotion;
}

/**
 * Make ready for exposures through moving air.
 *
 *   image = mean over moments of |transform of sqrt(intensity) exp(2 pi i (W + screen) / lambda) over the
 *   pupil|^2
 *
 * integrated over pixels exactly. Exposures of one sky that follow each other in time belong together: start
 * one where the last one ended. The screen is that of `preparePhaseScreen`: frozen flow, one layer, phase
 * only (no scintillation).
 *
 * Errors: the pupil's edges are gray, and thereby one sample wide. With 64 samples across and in still air a
 * star in focus agrees with `prepareDiffraction` to 3e-4 of its brightest pixel, a ring of two waves of
 * defocus to 0.7 %; one of 3.3 waves to 1.1 % with 80 samples and 0.3 % with 160. Moments a third of a Fried
 * parameter apart change the image of one exposure over one aperture of travel by 4 % rms against finer ones
 * where a ring shows speckles, and its mean motion by 0.3 %.
 *
 * The motion is the same for a star in focus and for a ring: over the whole image both centers of mass follow
 * the mean slope of the screen (to 0.7 % in a window of 60 lambda F, which cuts off faint light, and each
 * other to 0.2 %).
 *
 * ```ts
 * const star = { pupil: { obstructionRatio: 0.35 }, wavefront: { focusShiftUm: 400 }, fNumber: 5, apertureMm: 150 }
 * const air = { seeing: { fwhmArcsec: 2.5 }, windMPerS: 8, exposureS: 0.02 }
 * const plan = prepareShortExposure(
 *   { ...star, ...air, wavelengthNm: 600, pixelSizeUm: 3.75, width: 48, height: 40 },
 *   randomStream(1, 'sky'),
 * )
 * const stamp = new Float64Array(48 * 40)
 * const { meanX, meanY } = plan.exposeInto(stamp, { x: 22, y: 19, flux: 10_000 })
 * ```
 * @param random  names the first sky
 * @throws RangeError or TypeError naming what is out of range; RangeError "pupil samples: needs ..., got ..."
 *         when the stamp, the wavefront or the seeing needs more samples than `accuracy.maxPupilSamples`
 */
export function prepareShortExposure(options: ShortExposureOptions, random: RandomStream): ShortExposurePlan {
  requireNames(
    'options',
    options,
    'width height pupil wavefront fNumber apertureMm wavelengthNm pixelSizeUm seeing',
    'windMPerS windAngleDeg exposureS maxTravelMm accuracy',
  );
  const sampling = resolveSampling(options);
  const { width, height, pupil, wavefront, fNumber, apertureMm, wavelengthNm, pixelSizeUm } = options;
  const { windMPerS, windAngleDeg = 0, exposureS, seeing } = options;
  const surface = wavefrontSurface(wavefront, fNumber);
  const summed = prepareSummedImage({ pupil, surface, wavelengthNm }, fNumber, sampling);
  const { samples, step } = summed;
  const spacingMm = (step * apertureMm) / 2;
  const screen = preparePhaseScreen({ seeing, samples, spacingMm, windAngleDeg }, random);
  const measureSlope = prepareMeanSlope(summed.amplitude, samples);
  const steps = momentsOf(options);
  const opdNm = new Float64Array(samples * samples);
  const negligible = negligibleWave(sampling, accuracyOf(options).pixelError);
  // A slope of 1 nm a sample moves the light by focal length over spacing, nm.
  const pxPerSlope = (fNumber * 2) / step / 1000 / pixelSizeUm;

  function expose(startS: number): Omit<AirMotion, 'heldFraction'> {
    const timesS = new Float64Array(steps);
    const pathX = new Float64Array(steps);
    const pathY = new Float64Array(steps);
    const slope = { x: 0, y: 0 };
    let sumX = 0;
    let sumY = 0;
    summed.clear();
    for (let moment = 0; moment < steps; moment++) {
      timesS[moment] = startS + ((moment + 0.5) * exposureS) / steps;
      screen.opdInto(opdNm, 1000 * windMPerS * timesS[moment]);
      measureSlope(opdNm, slope);
      sumX += pathX[moment] = pxPerSlope * slope.x;
      sumY += pathY[moment] = pxPerSlope * slope.y;
      summed.add(opdNm);
    }
    return { timesS, pathX, pathY, meanX: sumX / steps, meanY: sumY / steps };
  }

  let startOfNext = 0;
  let motion: Omit<AirMotion, 'heldFraction'>;
  const plan = starPlan(
    {
      renderInto(out, x, y, flux) {
        motion = expose(startOfNext);
        const spectrum = summed.spectrum();
        const image = prepareSpectrumImage(spectrum, sampling.periodPx, { width, height }, negligible);
        image.renderInto(out, x, y, flux);
      },
    },
    { width, height },
  );
  return {
    width,
    height,
    steps,
    pupilSamples: samples,
    renew: (next) => screen.renew(next),
    exposeInto(out, star) {
      const { x, y, flux, startS = 0 } = requireNames('star', star, 'x y flux startS');
      startOfNext = requireFinite('startS', startS);
      const heldFraction = plan.renderInto(out, x, y, flux);
      return { heldFraction, ...motion };
    },
  };
}

/**
 * One exposure of one sky, as a new image of shape [height, width].
 *
 * @returns the expected electrons per pixel, and the motion of the air
 * @throws as `prepareShortExposure` and its `exposeInto`
 */
export function shortExposure(
  options: ShortExposureOptions,
  star: StarAt,
  random: RandomStream,
): AirMotion & { readonly image: Image } {
  const { width, height } = requireObject('options', options);
  const image = createImage(width, height);
  return { image, ...prepareShortExposure(options, random).exposeInto(image, star) };
}

/** As for a diffraction image, but 64 samples across the pupil do: one exposure takes many transforms. */
function accuracyOf({ accuracy }: ShortExposureOptions): Required<DiffractionAccuracy> {
  return resolveAccuracy({ minPupilSamples: 64, ...accuracy });
}

function resolveSampling(options: ShortExposureOptions): DiffractionSampling {
  const { pupil, wavefront, fNumber, apertureMm, wavelengthNm, pixelSizeUm, seeing, width, height } = options;
  requirePupil(pupil);
  requireFNumber(fNumber);
  requirePositive('apertureMm', apertureMm);
  requirePositive('wavelengthNm', wavelengthNm);
  requirePositive('pixelSizeUm', pixelSizeUm);
  requireSeeing(seeing);
  requireNonNegative('windMPerS', options.windMPerS);
  requireFinite('windAngleDeg', options.windAngleDeg ?? 0);
  requirePositive('exposureS', options.exposureS);
  requireInteger('width', width, 1, maxImageSide);
  requireInteger('height', height, 1, maxImageSide);
  const umPerArcsec = (apertureMm * fNumber * 1000) / arcsecPerRadian;
  return chooseSampling({
    surfaces: [wavefrontSurface(wavefront, fNumber)],
    fNumber,
    pixelSizeUm,
    shortestNm: wavelengthNm,
    longestNm: wavelengthNm,
    seeingFwhmUm: seeingFwhmArcsec(seeing, wavelengthNm) * umPerArcsec,
    accuracy: accuracyOf(options),
  });
}

function momentsOf({
  seeing,
  wavelengthNm,
  apertureMm,
  windMPerS,
  exposureS,
  maxTravelMm,
}: ShortExposureOptions): number {
  const most = maxTravelMm ?? Math.min(apertureMm / 4, friedParameterMm(seeing, wavelengthNm) / 3);
  requirePositive('maxTravelMm', most);
  return requireInteger(
    'moments of an exposure',
    Math.max(1, Math.ceil((1000 * windMPerS * exposureS) / most)),
    1,
    1e6,
  );
}
