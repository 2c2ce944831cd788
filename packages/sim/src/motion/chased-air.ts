/**
 * What moving air does to a loop: how far frames see the star move, and what the loop adds to the picture by
 * following.
 */
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
  /**
   * Share of a displacement that one correction takes out, in (0, 2): the gain times the response of the
   * method.
   */
  readonly proportionalGain: number;
}

/** The air in a loop. Rms of one axis, arcsec. */
export interface AirInLoop {
  /** What the loop adds to the picture by following the star in the air. */
  readonly chasedArcsec: number;
  /** How far frames see the star from its set point: the air that the loop has not followed. */
  readonly seenArcsec: number;
}

/** Step of the integral, in the logarithm of the frequency. */
const step = 0.01;

/** Integrals that were done before: an advice asks for the same ones again and again. */
const known = new Map<string, Integrals>();
const mostKnown = 1000;

/**
 * The air in a loop that takes the share g out of each displacement:
 *
 *   chased^2 = integral of S(f) (sin(pi f T) / (pi f T))^2 |N(f)|^2 df,   |N|^2 = g^2 / |1 - (1 - g) q|^2
 *   seen^2   = integral of S(f) (sin(pi f T) / (pi f T))^2 |E(f)|^2 df,   |E|^2 = |1 - q|^2 / |1 - (1 - g) q|^2
 *
 * S = spectrum of the image motion (`motionSpectrum`), T = exposure, q = exp(-2 pi i f I), I = correction
 * interval. Frames average the motion over T. For motion faster than the loop the mean of |N|^2 is g / (2 -
 * g), as for measurement noise; slow motion is followed in full. (Linear loop theory; derived, confirmed by
 * simulation.)
 *
 * The seeing of the picture already holds the motion of its own air. Guide star and picture look through
 * different air (they are many arcminutes apart), so what the loop follows is foreign to the picture and adds
 * in quadrature; where they share their air, the slow part would be a gain and not a loss. Kolmogorov's law
 * for the air without an outer scale, which overstates the slow motion: an upper bound.
 */
export function airInLoop(options: ChasedAirOptions): AirInLoop {
  const { chased, seen } = integrals(options, 0);
  return { chasedArcsec: Math.sqrt(chased), seenArcsec: Math.sqrt(seen) };
}

/** Rms per axis by which the loop moves the telescope after the air, arcsec. */
export function chasedAirArcsec(options: ChasedAirOptions): number {
  return airInLoop(options).chasedArcsec;
}

/**
 * Correlation of what a loop chases by two stars, from 0 to 1: how much of it their mean keeps beyond the
 * half. The air of the one comes to the other with the wind, `separationM` later on its way (Taylor's frozen
 * flow; for instantaneous motion the covariances of Fried 1975 and Sarazin & Roddier 1990, A&A 227, 294).
 * Taken for stars that stand along the wind, where the correlation is largest: an upper bound.
 *
 * @param separationM  distance of both beams where the turbulence is, m: angle times height
 */
export function sharedAir(options: ChasedAirOptions, separationM: number): number {
  const { chased, together } = integrals(options, separationM);
  return chased > 0 ? Math.max(0, together / chased) : 0;
}

/** arcsec^2 */
interface Integrals {
  readonly chased: number;
  readonly seen: number;
  /** Covariance of what is chased at the separation. */
  readonly together: number;
}

/**
 * Steps of the gain between which the integrals are interpolated: their bend changes them by 2e-4 at most
 * (measured).
 */
const gainStep = 1 / 64;

/** The integrals at any gain; near 0 and 2 they bend too much to be interpolated. */
function integrals(options: ChasedAirOptions, separationM: number): Integrals {
  const { proportionalGain: gain } = options;
  const below = gainStep * Math.floor(gain / gainStep);
  const part = (gain - below) / gainStep;
  if (part === 0 || gain < 0.2 || gain > 1.5) return integralsAt(options, separationM);
  const low = integralsAt({ ...options, proportionalGain: below }, separationM);
  const high = integralsAt({ ...options, proportionalGain: below + gainStep }, separationM);
  const between = (a: number, b: number) => a + part * (b - a);
  return {
    chased: between(low.chased, high.chased),
    seen: between(low.seen, high.seen),
    together: between(low.together, high.together),
  };
}

function integralsAt(options: ChasedAirOptions, separationM: number): Integrals {
  const key = `${Object.values(options).join('/')}/${separationM}`;
  const ready = known.get(key);
  if (ready !== undefined) return ready;
  if (known.size >= mostKnown) known.clear();
  const value = integrate(options, separationM);
  known.set(key, value);
  return value;
}

function integrate(
  {
    seeingFwhmArcsec,
    wavelengthNm,
    apertureMm,
    obstructionRatio,
    windMPerS,
    exposureS,
    intervalS,
    proportionalGain: g,
  }: ChasedAirOptions,
  separationM: number,
): Integrals {
  const spectrum = motionSpectrum({ obstructionRatio, outerScale: Infinity });
  const r0 = friedParameterMm({ fwhmArcsec: seeingFwhmArcsec, wavelengthNm }, wavelengthNm);
  // lambda^2 D^(-1/3) r0^(-5/3), arcsec^2: the spectra are in units of it and of v / D.
  const unit =
    (wavelengthNm * 1e-6 * arcsecPerRadian) ** 2 * exp((-1 / 3) * log(apertureMm) - (5 / 3) * log(r0));
  const hzPerCycle = (1000 * windMPerS) / apertureMm;
  const lagS = separationM / windMPerS;
  const steps = Math.floor(log(spectrum.highest / spectrum.lowest) / step);
  const factor = exp(step);
  let chased = 0;
  let seen = 0;
  let together = 0;
  let u = spectrum.lowest;
  for (let i = 0; i <= steps; i++, u *= factor) {
    const hz = u * hzPerCycle;
    const power = 0.5 * (spectrum.along(u) + spectrum.across(u));
    const turn = cosine(hz * intervalS);
    const seenPower = (u * power * averaged(hz * exposureS)) / (1 - 2 * (1 - g) * turn + (1 - g) * (1 - g));
    const chasedPower = g * g * seenPower;
    chased += chasedPower;
    seen += (2 - 2 * turn) * seenPower;
    if (lagS > 0) together += chasedPower * cosine(hz * lagS);
  }
  const scale = unit * step;
  return { chased: scale * chased, seen: scale * seen, together: scale * together };
}

/** (sin(pi x) / (pi x))^2 */
function averaged(x: number): number {
  if (x < 1e-6) return 1;
  const sine = unitVector(180 * (x - Math.floor(x))).y / (Math.PI * x);
  return sine * sine;
}

/** cos(2 pi x) */
const cosine = (x: number): number => unitVector(360 * (x - Math.floor(x))).x;
