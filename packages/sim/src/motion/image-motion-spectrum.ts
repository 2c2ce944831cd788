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
 * Where the spectra are tabulated: a power law and the bend at the outer scale ask for little, the bend at
 * the aperture for more, and its ripples (one per unit of u) for most.
 */
const bendFrom = 0.1;
const ripplesFrom = 1.4;
const slowPerOctave = 8;
const pointsPerOctave = 24;
const rippleStep = 0.04;
/**
 * Steps of the logarithm of the frequency across the wind in the integral: either is right within 2e-4 of the
 * spectrum up to 0.3 v / D, where the coarse one ends, and the fine one within 1 % up to 10.
 */
const coarseStep = 0.1;
const fineStep = 0.05;
const coarseBelow = 0.3;
/** The integral begins at u exp(-4): below, the integrand is a power, and its sum is known. */
const below = 4;

/** Those that were made before; a page that is open for a night must not grow. */
const known = new Map<string, MotionSpectrum>();
const mostKnown = 100;

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
 * Tabulated and interpolated on logarithms: right within 1 % up to 0.3 v / D, 3 % up to 4, 5 % up to 10
 * (measured: 0.2, 1.6 and 3.5 %).
 */
export function motionSpectrum({ obstructionRatio, outerScale }: MotionAperture): MotionSpectrum {
  const key = `${obstructionRatio}/${outerScale}`;
  const ready = known.get(key);
  if (ready !== undefined) return ready;
  const left = slopeFilter(obstructionRatio);
  const left2 = Float64Array.from(fullAperture(), (_, i) => left(i * tableStep) ** 2);
  const grid = gridOf();
  const places = Float64Array.from(grid, log);
  const logAlong = new Float64Array(grid.length);
  const logAcross = new Float64Array(grid.length);
  for (let i = 0; i < grid.length; i++) {
    const sums = integrate(grid[i], outerScale, left2);
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
  if (known.size >= mostKnown) known.clear();
  known.set(key, spectrum);
  return spectrum;
}

/** Frequencies of the tables, ascending: even in their logarithm, coarse and fine, then even. */
function gridOf(): number[] {
  const octaves = (from: number, to: number, perOctave: number): number[] => {
    const count = Math.ceil((perOctave * log(to / from)) / Math.LN2);
    return Array.from({ length: count }, (_, i) => from * exp((log(to / from) * i) / count));
  };
  const ripples = Math.round((highest - ripplesFrom) / rippleStep);
  return [
    ...octaves(lowest, bendFrom, slowPerOctave),
    ...octaves(bendFrom, ripplesFrom, pointsPerOctave),
    ...Array.from({ length: ripples + 1 }, (_, i) => ripplesFrom + ((highest - ripplesFrom) * i) / ripples),
  ];
}

/**
 * By the trapezoidal rule in the logarithm of k_across, in which the integrand is smooth and falls off at
 * both ends.
 */
function integrate(u: number, outerScale: number, left2: Float64Array): { along: number; across: number } {
  const inverse2 = 1 / (outerScale * outerScale);
  const step = u < coarseBelow ? coarseStep : fineStep;
  const from = log(u) - below;
  const steps = Math.ceil((log(farthest) - from) / step);
  const factor = exp(step);
  const powerAt = (q: number): number => {
    const k2 = u * u + q * q;
    return q * between(left2, Math.sqrt(k2)) * exp((-11 / 6) * log(k2 + inverse2));
  };
  let q = exp(from);
  // All steps below this one, as geometric series: the integrands go as q and as q^3 there.
  let along = powerAt(q) / (factor - 1);
  let across = (powerAt(q) * q * q) / (factor * factor * factor - 1);
  for (let i = 0; i < steps; i++, q *= factor) {
    const power = powerAt(q);
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
  const e2 = obstructionRatio * obstructionRatio;
  return (k) => (between(full, k) - e2 * between(full, obstructionRatio * k)) / (1 - e2);
}

/** A table in steps of `tableStep` at k; 0 beyond it. */
function between(table: Float64Array, k: number): number {
  const place = k / tableStep;
  const i = Math.floor(place);
  return i + 1 < table.length ? table[i] + (place - i) * (table[i + 1] - table[i]) : 0;
}

/**
 * 2 J1(x) / x = (2 / pi) * integral from -1 to 1 of sqrt(1 - t^2) cos(x t) dt, by the Gauss-Chebyshev rule of
 * the second kind, whose nodes are cosines.
 */
function airy(x: number): number {
  let sum = 0;
  for (let i = 0; i < nodes / 2; i++) sum += chebyshev.weights[i] * cosine(x * chebyshev.nodes[i]);
  return sum;
}

const chebyshev = (() => {
  // Those of t > 0 count for both sides: the cosine is even.
  const places = Array.from({ length: nodes / 2 }, (_, i) => unitVector((180 * (i + 1)) / (nodes + 1)));
  return {
    nodes: Float64Array.from(places, ({ x }) => x),
    weights: Float64Array.from(places, ({ y }) => (4 / (nodes + 1)) * y * y),
  };
})();

const cosine = (angleRad: number): number => unitVector((180 / Math.PI) * angleRad).x;
