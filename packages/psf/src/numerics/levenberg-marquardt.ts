/**
 * Levenberg-Marquardt for a handful of unknowns (Levenberg 1944, Marquardt 1963): Newton steps with an approximate
 * Hessian whose diagonal is raised until the objective falls, so that far from the minimum it is a descent. Near the
 * minimum the true Hessian takes over: on noisy data, or with a model that does not match, the approximate one converges
 * by a constant factor a step only, the true one quadratically. It ends by the size of the step, relative to the scale of
 * each unknown, or by the iteration limit.
 */
import { factorCholesky, solveCholesky } from './small-solve.ts';

export interface Problem {
  /** Number of unknowns. */
  readonly n: number;
  /**
   * Objective at `unknowns`; fills its gradient and, n * n, its Hessian (`exact`) or a positive semidefinite stand-in.
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

/** The true Hessian is used once a step is shorter than this, in scales of the unknowns. */
const nearStep = 0.3;

/** Steps of the true Hessian that shrink by this and more are those of a Newton method that converges. */
const shrinking = 0.1;

/** So far below the tolerance must the next step be foreseen to be left out. */
const foreseen = 1e-4;

/** Rounding of the objective, relative: a change below it does not count as a rise. */
const rounding = 1e-13;

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
      // An unknown that rests on a limit and would leave it is held there.
      for (let i = 0; i < m; i++)
        held[i] =
          (unknowns[i] <= lower[i] && gradient[i] > 0) || (unknowns[i] >= upper[i] && gradient[i] < 0)
            ? 1
            : 0;
      for (let i = 0; i < m; i++) {
        for (let j = 0; j <= i; j++) damped[i * m + j] = held[i] || held[j] ? 0 : hessian[i * m + j];
        damped[i * m + i] = held[i] ? 1 : hessian[i * m + i] * (1 + damping) + Number.MIN_VALUE;
        step[i] = held[i] ? 0 : -gradient[i];
      }
      if (!factorCholesky(damped, damped, m)) {
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
      solveCholesky(step, damped, step, m);
      let largest = 0;
      for (let i = 0; i < m; i++) {
        tried[i] = Math.min(upper[i], Math.max(lower[i], unknowns[i] + step[i]));
        largest = Math.max(largest, Math.abs(tried[i] - unknowns[i]) / scale[i]);
      }
      // Newton steps shrink to their square: the next would be as this one times the square of what it is of the last.
      const next = exact && largest < shrinking * last ? largest * (largest / last) ** 2 : largest;
      const settled = largest <= tolerance || next <= foreseen * tolerance;
      last = largest;
      if (settled && damping <= 1) {
        // Short because it is near, not because it is damped: to look at the objective there would change nothing.
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
