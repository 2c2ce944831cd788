/**
 * How fast the air moves a star's image: the power spectrum of the motion in time, for a layer of air that
 * the wind carries over the aperture without change (frozen flow).
 */
import { exp, log, unitVector } from '@holdfast/psf/numerics';

/** An aperture in units of its own diameter. */
export interface MotionAperture {
  readonly obstructionRatio: number;
  /** Outer scale of the turbulence over the diameter of the aperture; Infinity for Kolmogorov's law. */
  readonly outerScale: number;
}

/** Spectra of the motion along the wind and across it, in units that leave out all but their shape. */
export interface MotionSpectrum {
  /** Frequencies in D / v, from lowest to highest, where the spectra are known. */
  readonly lowest: number;
  readonly highest: number;
  along(frequency: number): number;
  across(frequency: number): number;
}

/**
 * Gamma(11/6)^2 (24/5 Gamma(6/5))^(5/6) / (2 pi^(11/3)): Noll 1976, JOSA 66, 207, eq. 21, with his 0.023 in
 * full.
 */
const spectrumConstant = 0.02289558710855519;

/** Decades of no consequence lie outside: below, 0.2 % of Kolmogorov's variance; above, 1e-5 of it. */
const lowest = 1e-9;
const highest = 10;
/**
 * Where the spectra are tabulated: a power law asks for little, the ripples of the aperture (one a unit of u)
 * for more.
 */
const pointsPerOctave = 24;
const ripplesFrom = 1.4;
const rippleStep = 0.04;
/** Step of the logarithm of the frequency across the wind in the integral. */
const step = 0.05;

const known = new Map<string, MotionSpectrum>();

/**
 * One-sided power spectra s(u) of the center of mass of a star's image, u = f D / v:
 *
 *   S(f) = lambda^2 r0^(-5/3) D^(2/3) / v * s(f D / v)
 *   s(u) = 4 c * integral from 0 of q^2 (k^2 + (D / L0)^2)^(-11/6) A(k)^2 dk_across,   k^2 = u^2 + k_across^2
 *
 * with q = u for the motion along the wind and q = k_across for that across it, and A(k) what the mean slope
 * over the aperture leaves of a wave: (a(k) - eps^2 a(eps k)) / (1 - eps^2), a(k) = 2 J1(pi k) / (pi k). The
 * integral of either over all frequencies is 0.1698 for a clear aperture and an infinite outer scale. It
 * falls as f^(-2/3) below some 0.3 v / D and as f^(-11/3) above (Martin 1987, PASP 99, 1360, and Conan,
 * Rousset & Madec 1995, JOSA A 12, 1559, from memory; derived here from Kolmogorov's and von Karman's law and
 * confirmed numerically against phase screens).
 *
 * Tabulated and interpolated on logarithms: right within 1 % up to 0.3 v / D, 3 % up to 4, 5 % up to 10.
 */
export function motionSpectrum({ obstructionRatio, outerScale }: MotionAperture): MotionSpectrum {
  const key = `${obstructionRatio}/${outerScale}`;
  const ready = known.get(key);
  if (ready !== undefined) return ready;
  const left = slopeFilter(obstructionRatio);
  const grid = gridOf();
  const places = Float64Array.from(grid, log);
  const logAlong = new Float64Array(grid.length);
  const logAcross = new Float64Array(grid.length);
  for (let i = 0; i < grid.length; i++) {
    const sums = integrate(grid[i], outerScale, left);
    logAlong[i] = log(sums.along);
    logAcross[i] = log(sums.across);
  }
  const at = (table: Float64Array, frequency: number): number => {
    if (!(frequency >= lowest && frequency <= highest)) return 0;
    let low = 0;
    let high = grid.length - 1;
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if (grid[middle] <= frequency) low = middle;
      else high = middle;
    }
    const part = (log(frequency) - places[low]) / (places[high] - places[low]);
    return exp(table[low] + part * (table[high] - table[low]));
  };
  const spectrum: MotionSpectrum = {
    lowest,
    highest,
    along: (frequency) => at(logAlong, frequency),
    across: (frequency) => at(logAcross, frequency),
  };
  known.set(key, spectrum);
  return spectrum;
}

/** Frequencies of the tables, ascending: even in their logarithm, then even. */
function gridOf(): Float64Array {
  const octaves = log(ripplesFrom / lowest) / Math.LN2;
  const slow = Math.ceil(octaves * pointsPerOctave);
  const fast = Math.round((highest - ripplesFrom) / rippleStep);
  return Float64Array.from({ length: slow + fast + 1 }, (_, i) =>
    i < slow
      ? lowest * exp((log(ripplesFrom / lowest) * i) / slow)
      : ripplesFrom + ((highest - ripplesFrom) * (i - slow)) / fast,
  );
}

/**
 * By the trapezoidal rule in the logarithm of k_across, in which the integrand is smooth and falls off at
 * both ends.
 */
function integrate(
  u: number,
  outerScale: number,
  left: (k: number) => number,
): { along: number; across: number } {
  const inverse2 = 1 / (outerScale * outerScale);
  const from = log(u) - 14;
  const steps = Math.ceil((log(farthest) - from) / step);
  const factor = exp(step);
  let along = 0;
  let across = 0;
  let q = exp(from);
  for (let i = 0; i < steps; i++, q *= factor) {
    const k2 = u * u + q * q;
    const filter = left(Math.sqrt(k2));
    const power = q * filter * filter * exp((-11 / 6) * log(k2 + inverse2));
    along += power;
    across += power * q * q;
  }
  const scale = 4 * spectrumConstant * step;
  return { along: scale * u * u * along, across: scale * across };
}

/** Waves shorter than 1 / 40 of the aperture do not move the star: A^2 is below 1e-6 there. */
const farthest = 40;
const tableStep = 0.01;
/** Enough nodes for the oscillations of the farthest wave: exact beyond pi * farthest / 2 + 20. */
const nodes = 90;

let tabulated: Float64Array | undefined;

/** What an aperture without obstruction leaves, in steps of `tableStep`: the same for every telescope. */
function fullAperture(): Float64Array {
  tabulated ??= Float64Array.from({ length: Math.ceil(farthest / tableStep) + 2 }, (_, i) =>
    airy(Math.PI * i * tableStep),
  );
  return tabulated;
}

/** What the mean slope over the aperture leaves of the slope of a wave of k cycles per diameter. */
export function slopeFilter(obstructionRatio: number): (cyclesPerDiameter: number) => number {
  const full = fullAperture();
  const of = (k: number): number => {
    const place = k / tableStep;
    const i = Math.floor(place);
    return i + 1 < full.length ? full[i] + (place - i) * (full[i + 1] - full[i]) : 0;
  };
  const e2 = obstructionRatio * obstructionRatio;
  return (k) => (of(k) - e2 * of(obstructionRatio * k)) / (1 - e2);
}

/**
 * 2 J1(x) / x = (2 / pi) * integral from -1 to 1 of sqrt(1 - t^2) cos(x t) dt, by the Gauss-Chebyshev rule of
 * the second kind, whose nodes are cosines.
 */
function airy(x: number): number {
  let sum = 0;
  for (let i = 0; i < nodes; i++) sum += chebyshev.weights[i] * cosine(x * chebyshev.nodes[i]);
  return sum;
}

const chebyshev = (() => {
  const places = Array.from({ length: nodes }, (_, i) => unitVector((180 * (i + 1)) / (nodes + 1)));
  return {
    nodes: Float64Array.from(places, ({ x }) => x),
    weights: Float64Array.from(places, ({ y }) => (2 / (nodes + 1)) * y * y),
  };
})();

const cosine = (angleRad: number): number => unitVector((180 / Math.PI) * angleRad).x;
