/** What a loop adds to the picture by following the motion of the guide star's image in moving air. */
import { friedParameterMm } from '@holdfast/psf';
import { arcsecPerRadian, exp, log, unitVector } from '@holdfast/psf/numerics';
import { motionSpectrum } from './image-motion-spectrum.ts';

export interface ChasedAirOptions {
  /** FWHM of a star in a long exposure by the air alone, arcsec, at `wavelengthNm`. */
  readonly seeingFwhmArcsec: number;
  readonly wavelengthNm: number;
  readonly apertureMm: number;
  readonly obstructionRatio: number;
  /** Speed at which the air crosses the aperture, m/s. */
  readonly windMPerS: number;
  /** Exposure of a guide frame, s. */
  readonly exposureS: number;
  /** From the start of one frame to that of the next, s; each correction is done before the next frame. */
  readonly intervalS: number;
  /** In (0, 2). */
  readonly proportionalGain: number;
}

/** Step of the integral, in the logarithm of the frequency. */
const step = 0.01;

const known = new Map<string, number>();
const mostKnown = 1000;

/**
 * Rms per axis by which the loop moves the telescope after the air, arcsec:
 *
 *   sigma^2 = integral of S(f) (sin(pi f T) / (pi f T))^2 |N(f)|^2 df
 *   |N(f)|^2 = g^2 / (1 - 2 (1 - g) cos(2 pi f I) + (1 - g)^2)
 *
 * S = spectrum of the image motion (`motionSpectrum`), T = exposure, I = correction interval, g = gain: frames average the
 * motion over T, and the loop answers to what is left. For motion faster than the loop the mean of |N|^2 is g / (2 - g), as
 * for measurement noise; slow motion is followed in full. (Linear loop theory; derived, confirmed by simulation.)
 *
 * The seeing of the picture already holds the motion of its own air. Guide star and picture look through different air (they
 * are many arcminutes apart), so what the loop follows is foreign to the picture and adds in quadrature; where they share
 * their air, the slow part would be a gain and not a loss. Kolmogorov's law for the air without an outer scale, which
 * overstates the slow motion: an upper bound.
 */
export function chasedAirArcsec(options: ChasedAirOptions): number {
  const key = Object.values(options).join('/');
  const ready = known.get(key);
  if (ready !== undefined) return ready;
  if (known.size >= mostKnown) known.clear();
  const value = integrate(options);
  known.set(key, value);
  return value;
}

function integrate({
  seeingFwhmArcsec,
  wavelengthNm,
  apertureMm,
  obstructionRatio,
  windMPerS,
  exposureS,
  intervalS,
  proportionalGain: g,
}: ChasedAirOptions): number {
  const spectrum = motionSpectrum({ obstructionRatio, outerScale: Infinity });
  const r0 = friedParameterMm({ fwhmArcsec: seeingFwhmArcsec, wavelengthNm }, wavelengthNm);
  // lambda^2 D^(-1/3) r0^(-5/3), arcsec^2: the spectra are in units of it and of v / D.
  const unit =
    (wavelengthNm * 1e-6 * arcsecPerRadian) ** 2 * exp((-1 / 3) * log(apertureMm) - (5 / 3) * log(r0));
  const hzPerCycle = (1000 * windMPerS) / apertureMm;
  const steps = Math.floor(log(spectrum.highest / spectrum.lowest) / step);
  const factor = exp(step);
  let sum = 0;
  let u = spectrum.lowest;
  for (let i = 0; i <= steps; i++, u *= factor) {
    const hz = u * hzPerCycle;
    const power = 0.5 * (spectrum.along(u) + spectrum.across(u));
    const followed = (g * g) / (1 - 2 * (1 - g) * cosine(hz * intervalS) + (1 - g) * (1 - g));
    sum += u * power * averaged(hz * exposureS) * followed;
  }
  return Math.sqrt(unit * step * sum);
}

/** (sin(pi x) / (pi x))^2 */
function averaged(x: number): number {
  if (x < 1e-6) return 1;
  const sine = unitVector(180 * (x - Math.floor(x))).y / (Math.PI * x);
  return sine * sine;
}

/** cos(2 pi x) */
const cosine = (x: number): number => unitVector(360 * (x - Math.floor(x))).x;
