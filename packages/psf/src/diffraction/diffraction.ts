/**
 * The star as waves make it: any pupil, any wavefront, one wavelength or a band, through the air, on pixels.
 */

import { requireSeeing, type Seeing, seeingFwhmArcsec } from '../air/seeing.ts';
import { arcsecPerRadian } from '../numerics/angle.ts';
import { requireNames } from '../numerics/options.ts';
import { requireFinite, requireNonNegative, requirePositive } from '../numerics/require.ts';
import { requireFNumber } from '../optics/optics.ts';
import type { ImageSize, ShapePlan } from '../shapes/star-plan.ts';
import { type Pupil, requirePupil } from '../waves/pupil.ts';
import { type Wavefront, wavefrontSurface } from '../waves/wavefront.ts';
import {
  chooseSampling,
  type DiffractionAccuracy,
  type DiffractionSampling,
  resolveAccuracy,
} from './diffraction-sampling.ts';
import { type BandSample, type ImageSource, type ImageSpectrum, imageSpectrum } from './image-spectrum.ts';
import { negligibleWave, prepareSpectrumImage } from './spectrum-image.ts';

/**
 * The diffraction image of a star. The position of a render is where the chief ray lands (the center of the
 * reference sphere), not the center of mass: `lightCentroid` tells how far that lies from it.
 */
export interface DiffractionShape {
  readonly kind: 'diffraction';
  /** The pupil that the light passes. */
  readonly pupil: Pupil;
  /** The wave in the pupil; OPD > 0 is retarded. */
  readonly wavefront: Wavefront;
  /** Focal length over aperture of the beam at the sensor, > 0.5. */
  readonly fNumber: number;
  /** One wavelength, or a band as a list; its weights are shares of the detected electrons, of any sum. */
  readonly wavelengthNm: number | readonly BandSample[];
  /** Side of a pixel, um, > 0. */
  readonly pixelSizeUm: number;
  /** A long exposure through the atmosphere; none when left out. */
  readonly seeing?: DiffractionSeeing;
  /** How exact the image is to be. */
  readonly accuracy?: DiffractionAccuracy;
}

/** Seeing, and the diameter of the aperture that it is seen through, mm. */
export type DiffractionSeeing = Seeing & {
  /** Diameter of the telescope, mm, > 0. */
  readonly apertureMm: number;
};

/**
 * A diffraction image made ready for one stamp size.
 *
 *   image = |transform of sqrt(intensity) exp(2 pi i W / lambda) over the pupil|^2, blurred by seeing,
 *   integrated over pixels
 *
 * Seeing and pixel act as exact factors on the image's Fourier coefficients (exp(-D / 2), sin(pi f) / (pi
 * f)), and a sub-pixel position as an exact phase. The image is normalized by the light that the pupil
 * passes.
 *
 * At the default accuracy a pixel is right within 3e-6 of the flux (measured: 1.6e-6, falling as the square
 * of the pupil samples); that is a tenth of the faint wings of a sharp image half-way to the rim of the
 * field. Over the last sixth of the way the image fades out, and what lies beyond is left out:
 * `diffractionSampling` tells how far that is. A pixel is never negative: the fading leaves at most 2e-8 of
 * the flux below zero in a pixel and 1e-6 in all, which is cut off.
 *
 * ```ts
 * const clipped = { obstructionRatio: 0.3, clip: { distance: 0.7 } }
 * renderStar(
 *   {
 *     kind: 'diffraction', pupil: clipped, wavefront: { focusShiftUm: 150 }, fNumber: 5, wavelengthNm: 550, pixelSizeUm: 3.75,
 *     seeing: { fwhmArcsec: 2.5, apertureMm: 200 },
 *   },
 *   { width: 32, height: 32, x: 15.3, y: 16.1, flux: 5000 },
 * )
 * ```
 * @throws RangeError or TypeError naming what is out of range; RangeError "pupil samples: needs ..., got ..."
 *         when the stamp, the wavefront or the seeing needs more samples than `accuracy.maxPupilSamples`
 */
export function prepareDiffraction(shape: DiffractionShape, size: ImageSize): ShapePlan {
  const { spectrum, periodPx, negligible } = spectra.get(shape) ?? spectrumOf(shape);
  return prepareSpectrumImage(spectrum, periodPx, size, negligible);
}

interface KeptSpectrum {
  readonly spectrum: ImageSpectrum;
  readonly periodPx: number;
  readonly negligible: number;
}

/** Shapes are never changed, so one that is asked for again, for another stamp, has its spectrum already. */
const spectra = new WeakMap<DiffractionShape, KeptSpectrum>();

function spectrumOf(shape: DiffractionShape): KeptSpectrum {
  const { source, sampling, pixelError } = resolve(shape);
  const negligible = negligibleWave(sampling, pixelError);
  const spectrum = imageSpectrum(source, sampling, negligible);
  const kept = { spectrum, periodPx: sampling.periodPx, negligible };
  spectra.set(shape, kept);
  return kept;
}

/**
 * The sampling that a diffraction image would be calculated with, without calculating it.
 *
 * @throws as `prepareDiffraction`
 */
export function diffractionSampling(shape: DiffractionShape): DiffractionSampling {
  return resolve(shape).sampling;
}

function resolve(shape: DiffractionShape): {
  source: ImageSource;
  sampling: DiffractionSampling;
  pixelError: number;
} {
  requireNames('shape', shape, 'kind pupil wavefront fNumber wavelengthNm pixelSizeUm seeing accuracy');
  const { pupil, wavefront, fNumber, wavelengthNm, pixelSizeUm, seeing } = shape;
  requirePupil(pupil);
  requireFNumber(fNumber);
  requirePositive('pixelSizeUm', pixelSizeUm);
  const accuracy = resolveAccuracy(shape.accuracy);
  const surface = wavefrontSurface(wavefront, fNumber);
  const band = resolveBand(wavelengthNm).map((sample) => ({
    ...sample,
    surface:
      sample.focusBehindUm === undefined || sample.focusBehindUm === 0
        ? surface
        : wavefrontSurface(
            { ...wavefront, focusShiftUm: (wavefront.focusShiftUm ?? 0) - sample.focusBehindUm },
            fNumber,
          ),
  }));
  const wavelengths = band.map((sample) => sample.wavelengthNm);
  const shortestNm = Math.min(...wavelengths);
  if (seeing) {
    requireSeeing(seeing);
    requirePositive('seeing.apertureMm', seeing.apertureMm);
  }
  const umPerArcsec = seeing ? (seeing.apertureMm * fNumber * 1000) / arcsecPerRadian : 0;
  const sampling = chooseSampling({
    surfaces: band.map(({ surface }) => surface),
    fNumber,
    pixelSizeUm,
    shortestNm,
    longestNm: Math.max(...wavelengths),
    seeingFwhmUm: seeing ? seeingFwhmArcsec(seeing, shortestNm) * umPerArcsec : 0,
    accuracy,
  });
  return {
    source: { pupil, fNumber, pixelSizeUm, band, seeing },
    sampling,
    pixelError: accuracy.pixelError,
  };
}

function resolveBand(wavelengthNm: DiffractionShape['wavelengthNm']): BandSample[] {
  if (!Array.isArray(wavelengthNm)) {
    const single = requirePositive('wavelengthNm', wavelengthNm as number);
    return [{ wavelengthNm: single, weight: 1 }];
  }
  const samples = wavelengthNm as readonly BandSample[];
  let sum = 0;
  samples.forEach((sample, k) => {
    requireNames(`wavelengthNm[${k}]`, sample, 'wavelengthNm weight focusBehindUm');
    requirePositive(`wavelengthNm[${k}].wavelengthNm`, sample.wavelengthNm);
    sum += requireNonNegative(`wavelengthNm[${k}].weight`, sample.weight);
    requireFinite(`wavelengthNm[${k}].focusBehindUm`, sample.focusBehindUm ?? 0);
  });
  if (!(sum > 0)) throw new RangeError(`wavelengthNm: its weights must have a positive sum, got ${sum}`);
  return samples
    .filter(({ weight }) => weight > 0)
    .map((sample) => ({ ...sample, weight: sample.weight / sum }));
}
