/** The motion of a star's image by moving air, as a guide camera sees it: averaged over each exposure. */
import { friedParameterMm, type RandomStream } from '@holdfast/psf';
import {
  arcsecPerRadian,
  exp,
  log,
  requireBelow,
  requireFinite,
  requirePositive,
  unitVector,
} from '@holdfast/psf/numerics';
import { motionSpectrum } from './image-motion-spectrum.ts';

/** One layer of turbulent air that crosses the aperture. */
export interface MovingAir {
  /** FWHM of a star in a long exposure by the air alone, arcsec, at `wavelengthNm`. */
  readonly seeingFwhmArcsec: number;
  readonly wavelengthNm: number;
  readonly apertureMm: number;
  readonly obstructionRatio: number;
  /** Speed at which the air crosses the aperture, m/s, > 0. */
  readonly windMPerS: number;
  /** Direction in which it crosses, degrees from +x toward +y. Default 0. */
  readonly windAngleDeg?: number;
  /**
   * Outer scale, mm. Default Infinity: Kolmogorov's law, which overstates the slow motion. Some 20 000 mm are
   * usual.
   */
  readonly outerScaleMm?: number;
}

/** How far the air has moved the star, arcsec. */
export interface Motion {
  x: number;
  y: number;
}

/** The air of one night. */
export interface ImageMotion {
  /**
   * Overwrite `out` with the mean position over an exposure from `startS` to `startS + exposureS` (0: at that
   * moment).
   */
  meanInto(out: Motion, startS: number, exposureS: number): void;
  /** Overwrite `out` with what the waves slower than `slowestHz` make of the position at a moment. */
  slowInto(out: Motion, timeS: number, slowestHz: number): void;
}

/**
 * Strata of frequency per octave: fine where a night shows them as waves, coarse where they are but a slow
 * drift.
 */
const fineBelow = 1e-5;
const coarsePerOctave = 4;
const finePerOctave = 12;

/**
 * Image motion with the spectrum of `motionSpectrum`: the variance of short exposures is 0.1698 lambda^2
 * D^(-1/3) r0^(-5/3) on each axis for a clear aperture, as `imageMotionArcsec` of psf has it; it falls as
 * f^(-2/3) below some 0.3 v / D and as f^(-11/3) above. The motion is a sum of waves in time, two for each
 * stratum of frequency (some 300 strata): a frequency drawn within the stratum with a density as f^(-2/3),
 * and a normal complex amplitude. So the mean over nights of the covariance between any two moments is that
 * of the spectrum, and the mean over an exposure T is exact: each wave is multiplied by sin(pi f T) / (pi f
 * T).
 *
 * The image moves the same whether in focus or a ring: the center of mass follows the mean slope of the
 * wavefront, which defocus does not change.
 *
 * Not modeled: several layers with winds of their own, boiling, gusts of that wind, the air within the tube,
 * scintillation.
 *
 * ```ts
 * const night = prepareImageMotion({
 *   seeingFwhmArcsec: 2.5, wavelengthNm: 550, apertureMm: 200, obstructionRatio: 0.35, windMPerS: 10,
 * })
 * const air = night(randomStream(1, 'air'))
 * const mean = { x: 0, y: 0 }
 * air.meanInto(mean, 60, 2) // the exposure from 60 s to 62 s
 * ```
 * @returns draws the air of one night from a stream: the same stream gives the same air
 * @throws RangeError or TypeError naming what is out of range
 */
export function prepareImageMotion(air: MovingAir): (random: RandomStream) => ImageMotion {
  const { seeingFwhmArcsec, wavelengthNm, apertureMm, obstructionRatio, windMPerS } = air;
  const { windAngleDeg = 0, outerScaleMm = Infinity } = air;
  requirePositive('seeingFwhmArcsec', seeingFwhmArcsec);
  requirePositive('wavelengthNm', wavelengthNm);
  requirePositive('apertureMm', apertureMm);
  requireBelow('obstructionRatio', obstructionRatio, 0, 1);
  requirePositive('windMPerS', windMPerS);
  if (outerScaleMm !== Infinity) requirePositive('outerScaleMm', outerScaleMm);
  const wind = unitVector(requireFinite('windAngleDeg', windAngleDeg));
  const spectrum = motionSpectrum({ obstructionRatio, outerScale: outerScaleMm / apertureMm });
  const r0 = friedParameterMm({ fwhmArcsec: seeingFwhmArcsec, wavelengthNm }, wavelengthNm);
  // lambda^2 D^(-1/3) r0^(-5/3), arcsec^2: the spectra are in units of it and of v / D.
  const unit =
    (wavelengthNm * 1e-6 * arcsecPerRadian) ** 2 * exp((-1 / 3) * log(apertureMm) - (5 / 3) * log(r0));
  const hzPerCycle = (1000 * windMPerS) / apertureMm;
  const borders = strataOf(spectrum.lowest, spectrum.highest);
  return (random) => {
    const along = drawWaves(borders, spectrum.along, unit, hzPerCycle, random.stream('along'));
    const across = drawWaves(borders, spectrum.across, unit, hzPerCycle, random.stream('across'));
    const turnInto = (out: Motion, a: number, b: number): void => {
      out.x = a * wind.x - b * wind.y;
      out.y = a * wind.y + b * wind.x;
    };
    return {
      meanInto(out, startS, exposureS) {
        const middle = startS + exposureS / 2;
        turnInto(out, along.mean(middle, exposureS), across.mean(middle, exposureS));
      },
      slowInto(out, timeS, slowestHz) {
        turnInto(out, along.mean(timeS, 0, slowestHz), across.mean(timeS, 0, slowestHz));
      },
    };
  };
}

interface Waves {
  /** Sum of all waves below `belowHz`, averaged over the exposure around a moment. */
  mean(middleS: number, exposureS: number, belowHz?: number): number;
}

function drawWaves(
  borders: Float64Array,
  spectrum: (frequency: number) => number,
  unit: number,
  hzPerCycle: number,
  random: RandomStream,
): Waves {
  const count = borders.length - 1;
  const hz = new Float64Array(count);
  const cosine = new Float64Array(count);
  const sine = new Float64Array(count);
  const left = new Float64Array(count);
  let leftOf = Number.NaN;
  for (let n = 0; n < count; n++) {
    const low = cubeRoot(borders[n]);
    const spread = cubeRoot(borders[n + 1]) - low;
    const root = low + spread * random.uniform();
    const frequency = root * root * root;
    // 1 / density = 3 f^(2/3) times the stratum's width in the cube root of f.
    const sigma = Math.sqrt(unit * spectrum(frequency) * 3 * root * root * spread);
    hz[n] = frequency * hzPerCycle;
    cosine[n] = sigma * random.normal();
    sine[n] = sigma * random.normal();
  }
  const averageOver = (exposureS: number): void => {
    for (let n = 0; n < count; n++) {
      const turn = Math.PI * hz[n] * exposureS;
      left[n] = turn < 1e-8 ? 1 : unitVector((180 / Math.PI) * turn).y / turn;
    }
    leftOf = exposureS;
  };
  return {
    mean(middleS, exposureS, belowHz = Infinity) {
      if (exposureS !== leftOf) averageOver(exposureS);
      let sum = 0;
      for (let n = 0; n < count && hz[n] < belowHz; n++) {
        const turns = hz[n] * middleS;
        const phase = unitVector(360 * (turns - Math.floor(turns)));
        sum += left[n] * (cosine[n] * phase.x + sine[n] * phase.y);
      }
      return sum;
    },
  };
}

/** Borders of the strata, ascending, evenly spaced in the logarithm but for the coarse part below. */
function strataOf(lowest: number, highest: number): Float64Array {
  const coarse = Math.ceil((coarsePerOctave * log(fineBelow / lowest)) / Math.LN2);
  const fine = Math.ceil((finePerOctave * log(highest / fineBelow)) / Math.LN2);
  return Float64Array.from({ length: coarse + fine + 1 }, (_, i) =>
    i < coarse
      ? lowest * exp((log(fineBelow / lowest) * i) / coarse)
      : fineBelow * exp((log(highest / fineBelow) * (i - coarse)) / fine),
  );
}

const cubeRoot = (x: number): number => exp(log(x) / 3);
