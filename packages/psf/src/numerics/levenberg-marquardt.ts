/**
 * Levenberg-Marquardt for a handful of unknowns (Levenberg 1944, Marquardt 1963): Newton steps with an
 * approximate Hessian whose diagonal is raised until the objective falls, so that far from the minimum it is
 * a descent. Near the minimum the true Hessian takes over: on noisy data, or with a model that does not
 * match, the approximate one converges by a constant factor a step only, the true one quadratically. It ends
 * by the size of the step, relative to the scale of each unknown, or by the iteration limit.
 */
import { factorCholesky, solveCholesky } from './small-solve.ts';

export interface Problem {
  /** Number of unknowns. */
  readonly n: number;
  /**
   * Objective at `unknowns`; fills its gradient and, n * n, its Hessian (`exact`) or a positive semidefinite
   * stand-in.
   */
  evaluate(unknowns: Float64Array, gradient: Float64Array, hessian: Float64Array, exact: boolean): number;
  /** A length by which a change of each unknown is judged, at `unknowns`. */
  scale(out: Float64Array, unknowns: Float64Array): void;
  readonly lower: Float64Array;
  readonly upper: Float64Array;
}

export interface Limits {
  readonly maxIterations: number;
  /** Converged when no unknown moves by more than this times its scale. */
  readonly tolerance: number;
}

export type FitStatus =
  /** the last step was below the tolerance */
  | 'converged'
  /** it was not, after the largest number of iterations */
  | 'iteration-limit'
  /** no step, however short, lowers the objective */
  | 'stalled';

export interface FitEnd {
  status: FitStatus;
  iterations: number;
  objective: number;
}

/** Damping at the start, and beyond which no shorter step is tried. */
const firstDamping = 1e-3;
const lastDamping = 1e12;

/** The true Hessian is used once per step is shorter than this, in scales of the unknowns. */
const nearStep = 0.3;

/** Steps of the true Hessian that shrink by this and more are those of a Newton method that converges. */
const shrinking = 0.1;

/** The next step is skipped when it is predicted to be smaller than this share of the tolerance. */
const foreseen = 1e-4;

/** Rounding of the objective, relative: a change below it does not count as a rise. */
const rounding = 1e-13;

/** Whether an unknown rests on a limit and the way down leads out of its range: it stays there. */
export const isHeld = (value: number, descent: number, lower: number, upper: number): boolean =>
  (value <= lower && descent < 0) || (value >= upper && descent > 0);

/**
 * One step of a damped Newton method: solve (H + damping diag H) step = -gradient for the unknowns that are
 * not held.
 *
 * @param step     minus the gradient; overwritten by the step, which is 0 for an unknown that is held
 * @param hessian  n * n, of which the lower triangle is read
 * @param held     1 for each unknown that stays where it is
 * @param scratch  n * n numbers
 * @returns false where the damped Hessian is not positive definite; `step` is then of no use
 */
export function dampedNewtonStep(
  step: Float64Array,
  hessian: Float64Array,
  held: Uint8Array,
  damping: number,
  scratch: Float64Array,
  n: number,
): boolean {
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < i; j++) scratch[i * n + j] = held[i] || held[j] ? 0 : hessian[i * n + j];
    scratch[i * n + i] = held[i] ? 1 : hessian[i * n + i] * (1 + damping) + Number.MIN_VALUE;
    if (held[i]) step[i] = 0;
  }
  if (!factorCholesky(scratch, scratch, n)) return false;
  solveCholesky(step, scratch, step, n);
  return true;
}

/** Scratch for problems of up to `n` unknowns. The function moves `unknowns` to the minimum. */
export function prepareLevenbergMarquardt(
  n: number,
): (unknowns: Float64Array, problem: Problem, limits: Limits) => FitEnd {
  const end: FitEnd = { status: 'iteration-limit', iterations: 0, objective: 0 };
  let gradient = new Float64Array(n);
  let hessian = new Float64Array(n * n);
  let newGradient = new Float64Array(n);
  let newHessian = new Float64Array(n * n);
  const damped = new Float64Array(n * n);
  const step = new Float64Array(n);
  const tried = new Float64Array(n);
  const scale = new Float64Array(n);
  const held = new Uint8Array(n);

  return (unknowns, problem, { maxIterations, tolerance }) => {
    const m = problem.n;
    const { lower, upper } = problem;
    for (let i = 0; i < m; i++) unknowns[i] = Math.min(upper[i], Math.max(lower[i], unknowns[i]));
    let exact = false;
    let objective = problem.evaluate(unknowns, gradient, hessian, exact);
    let damping = firstDamping;
    let growth = 4;
    let last = Infinity;
    end.status = 'iteration-limit';
    end.iterations = 1;
    while (end.iterations < maxIterations) {
      problem.scale(scale, unknowns);
      for (let i = 0; i < m; i++) {
        step[i] = -gradient[i];
        held[i] = isHeld(unknowns[i], step[i], lower[i], upper[i]) ? 1 : 0;
      }
      if (!dampedNewtonStep(step, hessian, held, damping, damped, m)) {
        if (exact) {
          // No minimum is near, after all
          exact = false;
          objective = problem.evaluate(unknowns, gradient, hessian, exact);
          end.iterations++;
          continue;
        }
        damping *= growth;
        growth *= 2;
        if (!(damping < lastDamping)) {
          end.status = 'stalled';
          break;
        }
        continue;
      }
      let largest = 0;
      for (let i = 0; i < m; i++) {
        tried[i] = Math.min(upper[i], Math.max(lower[i], unknowns[i] + step[i]));
        largest = Math.max(largest, Math.abs(tried[i] - unknowns[i]) / scale[i]);
      }
      // Newton steps shrink to their square: the next would be as this one times the square of what it is of
      // the last.
      const next = exact && largest < shrinking * last ? largest * (largest / last) ** 2 : largest;
      const settled = largest <= tolerance || next <= foreseen * tolerance;
      last = largest;
      if (settled && damping <= 1) {
        // Short because it is near, not because it is damped: to look at the objective there would change
        // nothing.
        for (let i = 0; i < m; i++) unknowns[i] = tried[i];
        end.status = 'converged';
        break;
      }
      exact = largest < nearStep && damping <= 1;
      const trial = problem.evaluate(tried, newGradient, newHessian, exact);
      end.iterations++;
      if (trial <= objective + rounding * Math.abs(objective)) {
        for (let i = 0; i < m; i++) unknowns[i] = tried[i];
        objective = trial;
        [gradient, newGradient] = [newGradient, gradient];
        [hessian, newHessian] = [newHessian, hessian];
        damping = Math.max(damping / 10, 1e-12);
        growth = 4;
      } else {
        damping *= growth;
        growth *= 2;
        if (!(damping < lastDamping)) {
          end.status = 'stalled';
          break;
        }
      }
    }
    end.objective = objective;
    return end;
  };
}
