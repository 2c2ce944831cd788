/**
 * The fit of a template: Gauss-Newton steps for position, flux, background and parameter together. With the
 * weights of the likelihood, 1 / expected, renewed at every step, this is Fisher scoring, whose end is the
 * maximum of the likelihood.
 */
import { dampedNewtonStep, invertSymmetric, isHeld, sandwich } from '@holdfast/psf/numerics';
import type { PixelList } from '../pixels/valid-pixels.ts';
import { TemplateEquations, type TemplateUnknowns, unknown, unknownCount } from './template-equations.ts';
import type { TemplateModel } from './template-model.ts';

export interface TemplateSolverOptions {
  /** Weigh by the inverse of the variance expected, or all pixels alike. */
  readonly weighByNoise: boolean;
  readonly fitBackground: boolean;
  readonly maxIterations: number;
  /** Converged when the position moves by less than this, px. */
  readonly tolerancePx: number;
}

/** Longest step of the position, px: an edge of the star is straight no further than about its blur. */
const longestStepPx = 1;

/**
 * In much noise the expected information is far from the curvature of the likelihood itself, and scoring
 * converges by a constant factor a step only: after so many steps, and once per step is shorter than this,
 * the true curvature takes over.
 */
const scoringSteps = 3;
const nearStepPx = 0.3;

/** Halvings of a step that does not improve the fit. */
const mostHalvings = 12;

/**
 * The flux may fall to this share in one step; below the second share of the flux at the start there is no
 * star.
 */
const leastFluxShare = 0.1;
const noFluxShare = 1e-9;

/**
 * Converged when flux and parameter, too, move by less than this share of the flux and of the parameter's
 * range.
 */
const settledShare = 1e-3;

export type TemplateFitStatus = 'converged' | 'iteration-limit' | 'no-flux' | 'undetermined';

export class TemplateSolver {
  /** The fit as it stands. */
  readonly at: TemplateUnknowns = { x: 0, y: 0, flux: 0, background: 0, parameter: 0 };
  iterations = 0;
  /** Unknowns that are free. */
  readonly n: number;

  readonly #model: TemplateModel;
  readonly #list: PixelList;
  readonly #options: TemplateSolverOptions;
  readonly #equations: TemplateEquations;
  readonly #before: TemplateUnknowns = { x: 0, y: 0, flux: 0, background: 0, parameter: 0 };
  readonly #scratch = new Float64Array(unknownCount * unknownCount);
  readonly #held = new Uint8Array(unknownCount);
  readonly #step = new Float64Array(unknownCount);
  /** Place among the free unknowns of each unknown, or -1. */
  readonly #place: readonly number[];
  #leastBackground = -Infinity;
  /** Whether the equations' products stand: they were summed less than the tolerance ago. */
  #isFresh = false;

  /** @param list  the pixels, filled anew before each `solve` */
  constructor(model: TemplateModel, list: PixelList, options: TemplateSolverOptions) {
    this.#model = model;
    this.#list = list;
    this.#options = options;
    this.#equations = new TemplateEquations(model, list, options.weighByNoise);
    const free = [true, true, true, options.fitBackground, model.isFamily];
    let n = 0;
    this.#place = free.map((is) => (is ? n++ : -1));
    this.n = n;
  }

  /** From a place within about the blur of the star's edges on. */
  solve(start: TemplateUnknowns): TemplateFitStatus {
    const { maxIterations, tolerancePx } = this.#options;
    const at = this.at;
    const before = this.#before;
    const equations = this.#equations;
    const step = this.#step;
    this.#leastBackground = equations.leastBackground();
    copyUnknowns(at, start);
    at.background = Math.max(start.background, this.#leastBackground);
    const noFlux = noFluxShare * start.flux;
    let length = Infinity;
    this.iterations = 0;
    this.#isFresh = false;
    equations.draw(at);
    for (;;) {
      const squares = equations.weigh(at);
      equations.sum(at);
      this.iterations++;
      const isNewton = this.iterations > scoringSteps && length < nearStepPx && this.#findNewtonStep();
      if (!isNewton && !this.#findStep()) return at.flux > noFlux ? 'undetermined' : 'no-flux';
      copyUnknowns(before, at);
      length = Math.sqrt(step[0] * step[0] + step[1] * step[1]);
      let share = Math.min(1, longestStepPx / length);
      for (let halvings = 0; ; halvings++) {
        this.#move(share);
        const isShort = share * length < tolerancePx;
        if (isShort && share === 1 && this.#isSettled()) {
          this.#isFresh = !isNewton;
          return 'converged';
        }
        equations.draw(at);
        if (isNewton || isShort || halvings === mostHalvings) break;
        if (equations.sumSquares(at) <= squares * (1 + 1e-12)) break;
        share /= 2;
      }
      if (!(at.flux > noFlux)) return 'no-flux';
      if (this.iterations >= maxIterations) return 'iteration-limit';
    }
  }

  /**
   * Covariance of x, y, flux and what else is free, in that order: the inverse Fisher information where the
   * weights are the noise's own, else A^-1 B A^-1 with A the Hessian of the sum of squares and B the variance
   * of its gradient.
   *
   * @param backgroundSigma  error of a level that was taken off and is not fitted
   */
  covariance(backgroundSigma: number): Float64Array | undefined {
    const { n, at } = this;
    const equations = this.#equations;
    const { weighByNoise } = this.#options;
    if (!(this.#isFresh && weighByNoise)) {
      equations.draw(at);
      equations.weigh(at);
      equations.sum(at);
    }
    if (!weighByNoise) equations.addCurvature(at);
    const inverse = invertSymmetric(this.#freePart(equations.products), n);
    if (inverse === undefined) return undefined;
    let covariance = inverse;
    if (!weighByNoise) {
      equations.useVarianceWeights();
      equations.sum(at);
      covariance = sandwich(inverse, this.#freePart(equations.products), n);
      equations.weigh(at);
    }
    if (backgroundSigma === 0 || this.#options.fitBackground) return covariance;
    // A common error of the level pulls all pixels alike: the gradient's share of it is of rank one.
    equations.sumCommon(at);
    const pulled = new Float64Array(n);
    this.#place.forEach((i, a) => {
      if (i >= 0) pulled[i] = backgroundSigma * equations.gradient[a];
    });
    const spread = new Float64Array(n * n);
    for (let i = 0; i < n; i++) for (let j = 0; j < n; j++) spread[i * n + j] = pulled[i] * pulled[j];
    const common = sandwich(inverse, spread, n);
    return covariance.map((v, i) => v + common[i]);
  }

  /** Share of the template's light on the pixels in use. */
  lightShare(): number {
    return this.#equations.lightShare(this.at.parameter);
  }

  /** Sum of squared residuals in units of their variance, over its expectation; for weights of the noise. */
  reducedChiSquare(): number {
    return this.#equations.sumSquares(this.at) / Math.max(1, this.#list.count - this.n);
  }

  /** Whether the parameter rests on an end of its range. */
  atLimit(): boolean {
    const { isFamily, from, to } = this.#model;
    return isFamily && (this.at.parameter <= from || this.at.parameter >= to);
  }

  /** Solve for the step of the free unknowns; false when they are not determined. */
  #findStep(): boolean {
    const { gradient, products } = this.#equations;
    const step = this.#step;
    step.set(gradient);
    this.#markHeld();
    return (
      dampedNewtonStep(step, products, this.#held, 0, this.#scratch, unknownCount) &&
      Number.isFinite(step[unknown.x]) &&
      Number.isFinite(step[unknown.y]) &&
      Number.isFinite(step[unknown.flux])
    );
  }

  /**
   * The same with the curvature of the objective itself; false, and all as before, where it has no minimum
   * near.
   */
  #findNewtonStep(): boolean {
    const equations = this.#equations;
    equations.useCurvatureWeights();
    equations.sum(this.at);
    equations.addCurvature(this.at);
    if (this.#findStep()) return true;
    equations.weigh(this.at);
    equations.sum(this.at);
    return false;
  }

  /** What is not fitted stays, and what rests on an end of its range and would leave it. */
  #markHeld(): void {
    const { gradient } = this.#equations;
    const { background, parameter } = this.at;
    const { isFamily, from, to } = this.#model;
    const held = this.#held;
    held[unknown.background] =
      !this.#options.fitBackground ||
      isHeld(background, gradient[unknown.background], this.#leastBackground, Infinity)
        ? 1
        : 0;
    held[unknown.parameter] = !isFamily || isHeld(parameter, gradient[unknown.parameter], from, to) ? 1 : 0;
  }

  #move(share: number): void {
    const at = this.at;
    const before = this.#before;
    const step = this.#step;
    const { isFamily, from, to } = this.#model;
    at.x = before.x + share * step[unknown.x];
    at.y = before.y + share * step[unknown.y];
    at.flux = Math.max(leastFluxShare * before.flux, before.flux + share * step[unknown.flux]);
    at.background = Math.max(this.#leastBackground, before.background + share * step[unknown.background]);
    if (isFamily)
      at.parameter = Math.min(to, Math.max(from, before.parameter + share * step[unknown.parameter]));
  }

  #isSettled(): boolean {
    const { at } = this;
    const before = this.#before;
    const range = this.#model.to - this.#model.from;
    return (
      Math.abs(at.flux - before.flux) <= settledShare * before.flux &&
      Math.abs(at.parameter - before.parameter) <= settledShare * range
    );
  }

  /** The free unknowns' part of a lower triangle over all five, as a whole matrix. */
  #freePart(full: Float64Array): Float64Array {
    const { n } = this;
    const out = new Float64Array(n * n);
    for (let a = 0; a < unknownCount; a++)
      for (let b = 0; b <= a; b++) {
        const i = this.#place[a];
        const j = this.#place[b];
        if (i < 0 || j < 0) continue;
        out[i * n + j] = full[a * unknownCount + b];
        out[j * n + i] = full[a * unknownCount + b];
      }
    return out;
  }
}

function copyUnknowns(out: TemplateUnknowns, { x, y, flux, background, parameter }: TemplateUnknowns): void {
  out.x = x;
  out.y = y;
  out.flux = flux;
  out.background = background;
  out.parameter = parameter;
}
