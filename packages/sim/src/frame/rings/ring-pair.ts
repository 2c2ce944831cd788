/** Whether a filled disc is of one size: a fit of two discs to a picture that one does not explain. */
import { pair, pairUnknowns, prepareDiscPair } from './disc-pair.ts';
import { dipOfHole, leastDip } from './ring-derived.ts';
import { type Descent, descend } from './ring-descent.ts';
import { ring, ringUnknowns } from './ring-model.ts';
import type { Expectation } from './ring-normal.ts';
import type { StampPixels } from './ring-start.ts';

/** One disc explains a picture whose chi-square exceeds its expectation by no more than this, in sigmas. */
const clearSigmas = 3;
/** Area of the hole over that of the disc from which on a hole that is known counts. */
const leastHole = 0.01;
/** Hole that a telescope may have where the picture of two discs is drawn without. */
const usualHole = 0.09;
/** Share of the light in the second disc from which a fit starts. */
const usualShare = 0.15;

const fixed = (unknown: number, value: number): Expectation => ({ unknown, value, sigma: 1e-4 });

/** Where a fit of a ring ended, and what was drawn there. */
export interface RingDescent extends Descent {
  readonly fitted: 'ring' | 'two-discs';
}

/**
 * The fit of two discs instead of that of one ring where it explains the picture better; where it does not,
 * the first fit. How far the two lie apart is an error more of either. The first fit alone where it explains
 * the picture, or shows a hole.
 *
 * One disc follows the light that most colors share, and its edge where diffraction has worn it off: a lens
 * of 100 mm F/5.5 with a secondary spectrum of 40 um and a band of 300 nm makes a disc of 18.8 px on pixels
 * of 2.9 um; one disc gives 14 to 15.5 px, two give 17 to 18 (stars of our own wave model).
 *
 * @param first  of one ring
 * @param holds  whether the hole is known
 */
export function withTwoDiscs(
  stamp: StampPixels,
  first: Descent,
  coneTangent: number,
  fixedVariance: number,
  holds: boolean,
): RingDescent {
  const one = { ...first, fitted: 'ring' } as const;
  const { unknowns: u, chiSquare, reducedChiSquare } = first;
  const freedom = chiSquare / reducedChiSquare;
  if (chiSquare - freedom < clearSigmas * Math.sqrt(2 * freedom) || showsHole(first, holds)) return one;
  const model = prepareDiscPair(stamp.width, stamp.height, coneTangent);
  let best: Descent | undefined;
  for (const start of startsOf(u)) {
    const radius = start[ring.radius];
    const found = descend(stamp, model, start, fixedVariance, [
      fixed(ring.hole, 0),
      fixed(ring.holeX, 0),
      fixed(ring.holeY, 0),
      { unknown: ring.slopeX, value: 0, sigma: 0.3 },
      { unknown: ring.slopeY, value: 0, sigma: 0.3 },
      { unknown: pair.share, value: usualShare, sigma: 0.1 },
      { unknown: pair.apart, value: start[pair.apart], sigma: 0.5 * radius },
    ]);
    if (found && (best === undefined || isBetter(found, best))) best = found;
  }
  if (best === undefined) return one;
  const two = ofRing(best);
  const apart = two.unknowns.map((value, i) => value - u[i]);
  // what is not drawn is not measured
  if (!holds) apart[ring.hole] = usualHole;
  const base: RingDescent =
    two.converged && two.chiSquare < chiSquare ? { ...two, fitted: 'two-discs' } : one;
  return {
    ...base,
    covariances: [
      ...base.covariances,
      base.covariances[0].map(
        (value, at) => value + apart[Math.floor(at / ringUnknowns)] * apart[at % ringUnknowns],
      ),
    ],
  };
}

function showsHole({ unknowns: u, covariances }: Descent, holds: boolean): boolean {
  if (holds) return u[ring.hole] > leastHole;
  const at = ring.hole * (ringUnknowns + 1);
  const sigma = Math.sqrt(covariances.reduce((most, covariance) => Math.max(most, covariance[at]), 0));
  return dipOfHole(u) >= leastDip && u[ring.hole] > 3 * sigma;
}

/** One that has not converged still tells how far off one disc may be. */
const isBetter = (one: Descent, other: Descent): boolean =>
  one.converged === other.converged ? one.chiSquare < other.chiSquare : one.converged;

/** A wider second disc; and a narrower one, with a first disc that is wide instead of blurred. */
function startsOf(u: Float64Array): Float64Array[] {
  const wider = Float64Array.from([...u, usualShare, 0.8 * u[ring.radius]]);
  const narrower = wider.slice();
  narrower[ring.blur] = u[ring.blur] / 2;
  // the same second moment
  const perBlur2 = 4 / (8 * Math.LN2);
  narrower[ring.radius] = Math.sqrt(u[ring.radius] ** 2 + perBlur2 * 0.75 * u[ring.blur] ** 2);
  narrower[pair.apart] = -0.8 * narrower[ring.radius];
  for (const start of [wider, narrower]) {
    for (const unknown of [ring.hole, ring.holeX, ring.holeY]) start[unknown] = 0;
    start[ring.level] *= (1 - u[ring.hole]) * (u[ring.radius] / start[ring.radius]) ** 2;
  }
  return [wider, narrower];
}

/** What a ring has of the unknowns. */
function ofRing(descent: Descent): Descent {
  const n = ringUnknowns;
  return {
    ...descent,
    unknowns: descent.unknowns.slice(0, n),
    covariances: descent.covariances.map((covariance) =>
      Float64Array.from(
        { length: n * n },
        (_, at) => covariance[Math.floor(at / n) * pairUnknowns + (at % n)],
      ),
    ),
  };
}
