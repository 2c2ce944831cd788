/**
 * What a picture leaves open that is no ring of the model: a fit of a plainer ring to the same picture, and
 * how far it ends from the first one, as an error of every unknown.
 *
 * Diffraction draws a small ring as much as rays do (its edges are sqrt(wavelength * defocus) deep). A fit
 * that is free to choose the hole follows the bright fringe with a thin ring that is too small. A comet is no
 * ring with a hole off its middle.
 */
import type { Descent } from './ring-descent.ts';
import { ring } from './ring-model.ts';
import type { Expectation } from './ring-normal.ts';

/** A ring of fewer blurs across does not tell its hole from the fringe of its edge. */
const fewBlurs = 7;
/** Hole of most telescopes: 0.3 of the diameter. */
const usualHole = 0.09;
/** Beyond it, 0.35 of the diameter, the usual hole is believed rather than the fit. */
const mostHole = 0.12;
/** A plainer ring is refused by a rise of chi-square above this (3 sigma) ... */
const leastFall = 9;
/** ... or, where even the first fit is off by so many sigmas of chi-square, above three times its excess. */
const clearSigmas = 5;
/** Off center, or uneven from side to side, by this share: then it may be no ring at all. */
const leastOff = 0.05;

/**
 * The descent with a covariance more for each plainer ring.
 *
 * @param again  a descent from some unknowns with more that is expected, with or without its errors
 * @param holds  whether the hole is known
 */
export function withDoubt(
  first: Descent,
  again: (from: Float64Array, more: readonly Expectation[], withErrors: boolean) => Descent | undefined,
  holds: boolean,
): Descent {
  let descent = first;
  const believed: Expectation[] = [];
  const freedom = first.chiSquare / first.reducedChiSquare;
  const misfit = first.chiSquare - freedom;
  const most = misfit > clearSigmas * Math.sqrt(2 * freedom) ? 3 * misfit : leastFall;
  const fixed = (unknown: number, value: number): Expectation => ({ unknown, value, sigma: 1e-4 });
  const tryOne = (fix: readonly Expectation[], believes = false): void => {
    const from = descent.unknowns.slice();
    for (const { unknown, value } of fix) from[unknown] = value;
    const other = again(from, [...believed, ...fix], believes);
    if (other === undefined || other.chiSquare - first.chiSquare > most) return;
    const u = descent.unknowns;
    const apart = other.unknowns.map((value, i) => (u[i] - value) / (believes ? 2 : 1));
    const n = apart.length;
    const base = believes ? other : descent;
    if (believes) {
      believed.push(...fix);
      // what is believed is not seen
      apart[ring.hole] = Math.max(apart[ring.hole], usualHole);
    }
    const doubt = base.covariances[0].map((value, at) => value + apart[Math.floor(at / n)] * apart[at % n]);
    descent = { ...base, covariances: [...base.covariances, doubt] };
  };
  const u = first.unknowns;
  const radius = u[ring.radius];
  if (!holds && 2 * radius < fewBlurs * u[ring.blur])
    tryOne([fixed(ring.hole, usualHole)], u[ring.hole] > mostHole);
  const off = Math.max(
    Math.abs(u[ring.holeX]) / radius,
    Math.abs(u[ring.holeY]) / radius,
    Math.abs(u[ring.slopeX]) / 2,
    Math.abs(u[ring.slopeY]) / 2,
  );
  if (off > leastOff)
    tryOne([ring.holeX, ring.holeY, ring.slopeX, ring.slopeY].map((unknown) => fixed(unknown, 0)));
  return descent;
}
