/**
 * The descent of a fit of a star's picture: damped Newton steps with weights that are renewed at each step,
 * and a few weak expectations that keep what the picture does not tell within reason.
 */

import { dampedNewtonStep, isHeld } from '@holdfast/psf/numerics';
import type { PictureModel, PictureTraits } from './picture-model.ts';
import { covariancesAt } from './ring-covariance.ts';
import { addExpectations, type Expectation, normalEquations, weightOf } from './ring-normal.ts';
import type { StampPixels } from './ring-start.ts';
import { noiseVariance, unevennessOf } from './ring-weights.ts';

export interface Descent {
  readonly unknowns: Float64Array;
  readonly converged: boolean;
  /**
   * Covariances of the unknowns, their number squared: as if pixels were independent, with an unevenness that
   * is correlated over the blur width, and from the residuals as they lie. Each may promise too much where
   * another does not.
   */
  readonly covariances: readonly Float64Array[];
  /** Sum of squares over their noise variance alone. */
  readonly chiSquare: number;
  /** The same per degree of freedom: 1 for a ring as even as the model. */
  readonly reducedChiSquare: number;
  /** Rms unevenness of the ring beyond its noise, electrons per pixel. */
  readonly unevennessE: number;
  readonly iterations: number;
}

const maxIterations = 80;
/** Converged when no unknown moves by more than this, in px or as a fraction. */
const tolerance = 1e-5;
/**
 * Or when the sum of squares can fall by no more than this: every unknown is then within 0.001 of its error.
 */
const usualFall = 1e-6;
/** At the iteration limit this will do: within 0.1 of the errors. */
const nearFall = 1e-2;
/**
 * The unevenness is re-estimated for so many steps, then kept: a median would jump from pixel to pixel for
 * ever.
 */
const unevennessSteps = 12;
/** Steps after which a hopeless descent is left at that; one far beyond its picture at once. */
const hopelessSteps = 20;

/** Whether a ring is so much wider than its picture that this shows a straight edge. */
export const isBeyondPicture = (
  reachPx: number,
  { width, height }: Pick<StampPixels, 'width' | 'height'>,
  times = 2,
): boolean => reachPx > times * Math.max(width, height);

const isHopeless = ({ isPoint, reachPx }: PictureTraits, stamp: StampPixels, steps: number): boolean =>
  isBeyondPicture(reachPx, stamp, 4) ||
  (steps >= hopelessSteps && (isPoint || isBeyondPicture(reachPx, stamp)));

/**
 * @param start  unknowns to start from
 * @param expectations  what is expected of them beside the picture
 * @param fixedVariance  variance of a pixel beside the photon noise of its light, electrons^2
 * @param leastFall  it ends when the sum of squares can fall by no more than this
 * @param withErrors  without them, there are no covariances
 * @returns where the descent ended, or undefined where the picture leaves an unknown without any error
 */
export function descend(
  stamp: StampPixels,
  model: PictureModel,
  start: Float64Array,
  fixedVariance: number,
  expectations: readonly Expectation[],
  leastFall = usualFall,
  withErrors = true,
): Descent | undefined {
  const { pixels, use } = stamp;
  const { lower, upper } = model;
  const count = pixels.length;
  const n = start.length;
  const u = start.slice();
  const values = new Float64Array(count);
  const slopes = Array.from({ length: n }, () => new Float64Array(count));
  const residuals = new Float64Array(count);
  const weights = new Float64Array(count);
  const hessian = new Float64Array(n * n);
  const gradient = new Float64Array(n);
  const step = new Float64Array(n);
  const scratch = new Float64Array(n * n);
  let unevenness = 0;
  let damping = 1e-2;
  let converged = false;
  let promised = Infinity;
  let iterations = 0;
  for (; iterations < maxIterations; iterations++) {
    model.slopesInto(values, slopes, u);
    for (let k = 0; k < count; k++) residuals[k] = use[k] ? pixels[k] - values[k] : 0;
    if (iterations < unevennessSteps) {
      const { background, level } = model.traits(u);
      unevenness = unevennessOf(residuals, values, use, background + level / 2, fixedVariance);
    }
    for (let k = 0; k < count; k++)
      weights[k] = use[k] ? weightOf(values[k], residuals[k], fixedVariance, unevenness) : 0;
    normalEquations(hessian, gradient, slopes, residuals, weights);
    addExpectations(hessian, gradient, u, expectations);
    const before = costOf(pixels, values, weights) + costOfExpectations(u, expectations);
    const resting = Uint8Array.from(u, (value, i) =>
      isHeld(value, gradient[i], lower[i], upper[i]) ? 1 : 0,
    );
    let moved = Infinity;
    let isLevel = false;
    while (damping < 1e10) {
      step.set(gradient);
      if (dampedNewtonStep(step, hessian, resting, damping, scratch, n)) {
        const tried = limited(model, u, step);
        model.valuesInto(values, tried);
        const after = costOf(pixels, values, weights) + costOfExpectations(tried, expectations);
        moved = largestMove(model, u, tried);
        // the fall that a full step promises: an amount of 1 is one sigma in some direction
        promised = step.reduce((sum, value, i) => sum + value * gradient[i], 0);
        isLevel = promised < leastFall && damping < 1;
        if (isLevel) moved = 0;
        if (after <= before || moved < tolerance) {
          if (after <= before) u.set(tried);
          damping = Math.max(damping / 10, 1e-9);
          break;
        }
      }
      damping *= 5;
    }
    // Narrower than its blur: radius and blur trade along a valley without end, and no ring will come of it.
    // So does one far wider than its picture, which then shows a straight edge.
    if (!(damping < 1e10) || isHopeless(model.traits(u), stamp, iterations)) break;
    // where there is nothing to gain, weights and unevenness stay as they are, too
    if (isLevel || (moved < tolerance && iterations >= unevennessSteps / 2)) {
      converged = true;
      break;
    }
  }
  // at the limit, what is left to gain may be far below the errors all the same
  if (iterations === maxIterations && damping < 1 && promised < nearFall) converged = true;
  model.valuesInto(values, u);
  let [chiSquare, used] = [0, 0];
  for (let k = 0; k < count; k++)
    if (use[k]) {
      chiSquare += (pixels[k] - values[k]) ** 2 / noiseVariance(fixedVariance, values[k]);
      used++;
    }
  const descent = {
    unknowns: u,
    converged,
    covariances: [],
    chiSquare,
    reducedChiSquare: chiSquare / (used - n),
    unevennessE: unevenness,
    iterations: iterations + 1,
  };
  return withErrors ? withCovariances(stamp, model, descent, fixedVariance, expectations, slopes) : descent;
}

/** A descent that was made without errors, with them; undefined as for `descend`. */
export function withCovariances(
  stamp: StampPixels,
  model: PictureModel,
  descent: Descent,
  fixedVariance: number,
  expectations: readonly Expectation[],
  slopes: readonly Float64Array[] = Array.from(descent.unknowns, () => new Float64Array(stamp.pixels.length)),
): Descent | undefined {
  const { unknowns, unevennessE } = descent;
  const covariances = covariancesAt(stamp, model, unknowns, fixedVariance, unevennessE, expectations, slopes);
  return covariances && { ...descent, covariances };
}

function costOf(pixels: Float64Array, values: Float64Array, weights: Float64Array): number {
  let sum = 0;
  for (let k = 0; k < weights.length; k++)
    if (weights[k] > 0) sum += weights[k] * (pixels[k] - values[k]) * (pixels[k] - values[k]);
  return sum;
}

function costOfExpectations(u: Float64Array, expectations: readonly Expectation[]): number {
  let sum = 0;
  for (const { unknown, value, sigma } of expectations) sum += ((u[unknown] - value) / sigma) ** 2;
  return sum;
}

/** u + step within the limits; no length changes by more than half of the star's at once. */
function limited(
  { lengths, lower, upper, traits }: PictureModel,
  u: Float64Array,
  step: Float64Array,
): Float64Array {
  const most = 0.5 * traits(u).reachPx;
  const largest = lengths.reduce((max, i) => Math.max(max, Math.abs(step[i])), 0);
  const share = largest > most ? most / largest : 1;
  return u.map((value, i) => Math.min(upper[i], Math.max(lower[i], value + share * step[i])));
}

function largestMove({ lights, traits }: PictureModel, from: Float64Array, to: Float64Array): number {
  const { level } = traits(from);
  let most = 0;
  for (let i = 0; i < from.length; i++) {
    const scale = lights.includes(i) ? Math.max(Math.abs(level), 1e-9) : 1;
    most = Math.max(most, Math.abs(to[i] - from[i]) / scale);
  }
  return most;
}
