/**
 * A ring fit whose work does not grow with the ring: first on a copy of the picture in bins of some 48 to a
 * side, then, where the blur is narrow for those, on smaller bins from there. The model integrates over any
 * square, so that bins cost no accuracy as long as the blur spans more than one of them.
 */
import type { PictureModel } from './picture-model.ts';
import { type Descent, descend, isBeyondPicture, withCovariances } from './ring-descent.ts';
import { withDoubt } from './ring-doubt.ts';
import { leastRadiusPx, prepareRingModel, ring, ringUnknowns } from './ring-model.ts';
import type { Expectation } from './ring-normal.ts';
import { type RingDescent, withTwoDiscs } from './ring-pair.ts';
import { type StampPixels, startRing } from './ring-start.ts';

/** Bins to a side of the first copy of a larger stamp. */
const firstBins = 48;
/** Stamps of no more pixels to a side are fitted as they are in the end. */
const fewPixels = 64;
/** And of the last. */
export const mostBins = 128;
/** The blur spans so many bins, FWHM, where pixels allow: fewer would lose what its width says. */
export const binsPerBlur = 1.6;

/** A plainer ring is an error of the first: it is known well enough within a thirtieth of its own. */
const doubtFall = 1e-3;

/**
 * Where the descent ended, in px of the stamp; or why there is no ring.
 *
 * @param triesTwoDiscs  whether a filled disc that one size does not explain is fitted by two
 */
export function descendBinned(
  stamp: StampPixels,
  guess: { readonly x: number; readonly y: number } | undefined,
  obstructionRatio: number | undefined,
  coneTangent: number,
  fixedVariance: number,
  triesTwoDiscs = false,
): RingDescent | { readonly reason: 'too-faint' | 'not-converged' | 'no-ring' } {
  const held =
    obstructionRatio === undefined ? [] : [{ unknown: ring.hole, value: obstructionRatio ** 2, sigma: 1e-4 }];
  const longest = Math.max(stamp.width, stamp.height);
  let bin = Math.max(1, Math.ceil(longest / firstBins));
  let pixels = binned(stamp, bin);
  let model = prepareRingModel(pixels.width, pixels.height, coneTangent);
  const inBins = guess && { x: toBins(guess.x, bin), y: toBins(guess.y, bin) };
  const start = startRing(pixels, model, inBins, obstructionRatio);
  if (start === undefined) return { reason: 'too-faint' };
  let descent = descendRing(pixels, model, start, bin * bin * fixedVariance, held, undefined, false);
  if (descent === undefined) return { reason: 'not-converged' };
  // a straight edge stays one in smaller bins
  if (isBeyondPicture(descent.unknowns[ring.radius], pixels)) return { reason: 'not-converged' };
  const blurPx = descent.unknowns[ring.blur] * bin;
  const fine =
    longest <= fewPixels ? 1 : Math.max(1, Math.ceil(longest / mostBins), Math.floor(blurPx / binsPerBlur));
  if (fine < bin) {
    const from = inPixels(descent, bin).unknowns;
    bin = fine;
    pixels = binned(stamp, bin);
    model = prepareRingModel(pixels.width, pixels.height, coneTangent);
    descent = descendRing(pixels, model, rescaled(from, 1 / bin), bin * bin * fixedVariance, held);
  } else {
    const expectations = expectationsOf(start[ring.radius], held);
    descent = withCovariances(pixels, model, descent, bin * bin * fixedVariance, expectations);
  }
  if (descent === undefined) return { reason: 'not-converged' };
  const variance = bin * bin * fixedVariance;
  if (isPoint(pixels, model, descent, variance)) return { reason: 'no-ring' };
  if (!descent.converged) return { ...inPixels(descent, bin), fitted: 'ring' };
  const again = (
    from: Float64Array,
    more: readonly Expectation[],
    withErrors: boolean,
  ): Descent | undefined =>
    descendRing(pixels, model, from, variance, [...more, ...held], doubtFall, withErrors);
  const doubted = withDoubt(descent, again, held.length > 0);
  const fit: RingDescent = triesTwoDiscs
    ? withTwoDiscs(pixels, doubted, coneTangent, variance, held.length > 0)
    : { ...doubted, fitted: 'ring' };
  return inPixels(fit, bin);
}

function descendRing(
  stamp: StampPixels,
  model: PictureModel,
  start: Float64Array,
  fixedVariance: number,
  held: readonly Expectation[],
  leastFall?: number,
  withErrors?: boolean,
): Descent | undefined {
  const expectations = expectationsOf(start[ring.radius], held);
  return descend(stamp, model, start, fixedVariance, expectations, leastFall, withErrors);
}

/**
 * Weak against any ring that shows: a hole within a tenth of the radius of the middle, light that rises by
 * less than a third to one side, an obstruction ratio of 0 to 0.57, as telescopes have.
 */
function expectationsOf(radius: number, held: readonly Expectation[]): readonly Expectation[] {
  const usual = [
    { unknown: ring.hole, value: 0.12, sigma: 0.2 },
    { unknown: ring.holeX, value: 0, sigma: 0.1 * radius },
    { unknown: ring.holeY, value: 0, sigma: 0.1 * radius },
    { unknown: ring.slopeX, value: 0, sigma: 0.3 },
    { unknown: ring.slopeY, value: 0, sigma: 0.3 },
  ];
  return [...usual.filter(({ unknown }) => !held.some((one) => one.unknown === unknown)), ...held];
}

export const toBins = (at: number, bin: number): number => (at + 0.5) / bin - 0.5;

/** Sums over squares of bin x bin pixels; those with a pixel that may not be used may not be used. */
export function binned(stamp: StampPixels, bin: number): StampPixels {
  if (bin === 1) return stamp;
  const width = Math.floor(stamp.width / bin);
  const height = Math.floor(stamp.height / bin);
  const pixels = new Float64Array(width * height);
  const use = new Uint8Array(width * height).fill(1);
  for (let y = 0; y < height * bin; y++)
    for (let x = 0, k = y * stamp.width; x < width * bin; x++, k++) {
      const to = Math.floor(y / bin) * width + Math.floor(x / bin);
      pixels[to] += stamp.pixels[k];
      if (!stamp.use[k]) use[to] = 0;
    }
  for (let k = 0; k < pixels.length; k++) if (!use[k]) pixels[k] = 0;
  return { width, height, pixels, use };
}

const lengths = new Set<number>([ring.radius, ring.blur, ring.holeX, ring.holeY]);

/** Unknowns in pixels `scale` times as small. */
function rescaled(u: Float64Array, scale: number): Float64Array {
  return u.map((value, i) => {
    if (i === ring.x || i === ring.y) return scale * (value + 0.5) - 0.5;
    return value * scaleOf(i, scale);
  });
}

function scaleOf(unknown: number, scale: number): number {
  if (unknown === ring.x || unknown === ring.y || lengths.has(unknown)) return scale;
  return unknown === ring.level || unknown === ring.background ? 1 / (scale * scale) : 1;
}

function inPixels<Fit extends Descent>(descent: Fit, bin: number): Fit {
  if (bin === 1) return descent;
  const n = ringUnknowns;
  return {
    ...descent,
    unknowns: rescaled(descent.unknowns, bin),
    covariances: descent.covariances.map((covariance) =>
      covariance.map((value, at) => value * scaleOf(Math.floor(at / n), bin) * scaleOf(at % n, bin)),
    ),
    unevennessE: descent.unevennessE / (bin * bin),
  };
}

/**
 * Whether the blur alone, a Gaussian, does as well: a ring narrower than its blur, or one that is not much
 * wider and lowers chi-square by less than chance may with six unknowns more (0.3 % of stars in focus).
 */
function isPoint(stamp: StampPixels, model: PictureModel, descent: Descent, fixedVariance: number): boolean {
  const { unknowns: u, chiSquare, reducedChiSquare } = descent;
  if (2 * u[ring.radius] < u[ring.blur]) return true;
  if (2 * u[ring.radius] > 2.5 * u[ring.blur]) return false;
  const point = u.slice();
  const none = [ring.hole, ring.holeX, ring.holeY, ring.slopeX, ring.slopeY] as const;
  for (const unknown of none) point[unknown] = 0;
  point[ring.radius] = leastRadiusPx;
  // same flux, and the width of both together
  point[ring.level] *= (u[ring.radius] / leastRadiusPx) ** 2 * (1 - u[ring.hole]);
  point[ring.blur] = Math.sqrt(u[ring.blur] ** 2 + 2 * Math.LN2 * u[ring.radius] ** 2 * (1 + u[ring.hole]));
  const gaussian = descendRing(stamp, model, point, fixedVariance, [
    { unknown: ring.radius, value: leastRadiusPx, sigma: 1e-4 },
    ...none.map((unknown) => ({ unknown, value: 0, sigma: 1e-4 })),
  ]);
  return gaussian !== undefined && gaussian.chiSquare - chiSquare < leastFall * Math.max(1, reducedChiSquare);
}

/** Fall of chi-square that a ring must bring. */
const leastFall = 20;
