/**
 * Interpolation by splines: a smooth curve or surface through equally spaced values, written as a sum of
 * B-splines (Unser, Aldroubi & Eden 1993, IEEE Trans. Signal Process. 41, 821). The coefficients come from a
 * banded system, with nothing beyond the ends of a line.
 */

/** Highest degree in use. */
const maxDegree = 9;

/** left[j] of the recursion is f + j - 1, right[j] is j - f; this holds the sum that is carried along. */
const lower = new Float64Array(maxDegree + 1);

/** Derivatives that nobody asked for. */
const unread = new Float64Array(maxDegree + 1);

/**
 * Weights of the degree + 1 coefficients around a place, for an odd degree from 1 to 9: those with index m -
 * (degree - 1) / 2 and on, for the place m + f with m whole and 0 <= f < 1; and their first derivatives.
 * (Cox-de Boor recursion on whole knots.)
 */
export function splineWeights(
  weight: Float64Array,
  derivative: Float64Array,
  f: number,
  degree: number,
): void {
  weight[0] = 1;
  for (let j = 1; j <= degree; j++) {
    // d/dt of a B-spline is the difference of two of one degree less.
    if (j === degree) for (let r = 0; r < j; r++) lower[r] = weight[r];
    let carried = 0;
    for (let r = 0; r < j; r++) {
      const share = weight[r] / j;
      weight[r] = carried + (r + 1 - f) * share;
      carried = (f + j - r - 1) * share;
    }
    weight[j] = carried;
  }
  derivative[0] = -lower[0];
  for (let r = 1; r < degree; r++) derivative[r] = lower[r - 1] - lower[r];
  derivative[degree] = lower[degree - 1];
}

/** Second derivatives of the same weights: second differences of the B-spline of two degrees less. */
export function splineCurvatures(out: Float64Array, f: number, degree: number): void {
  splineWeights(out, unread, f, degree - 2);
  out[degree - 1] = 0;
  out[degree] = 0;
  for (let r = degree; r >= 0; r--) out[r] = out[r] - (r > 0 ? 2 * out[r - 1] : 0) + (r > 1 ? out[r - 2] : 0);
}

/** Turns the values of whole lines of an array into B-spline coefficients, in place. */
export type SplineFilter = (
  values: Float64Array,
  lines: number,
  lineStride: number,
  pixelStride: number,
) => void;

/** For lines of one length and one odd degree. */
export function prepareSplineFilter(length: number, degree: number): SplineFilter {
  const reach = (degree - 1) / 2;
  const width = reach + 1;
  const weight = new Float64Array(degree + 1);
  splineWeights(weight, unread, 0, degree);
  // Banded Cholesky factor of the matrix whose entry (i, j) is the B-spline at i - j: factor[i * width +
  // reach - d] is L(i, i - d).
  const factor = new Float64Array(length * width);
  for (let i = 0; i < length; i++)
    for (let j = Math.max(0, i - reach); j <= i; j++) {
      let rest = weight[reach + i - j];
      for (let k = Math.max(0, i - reach); k < j; k++)
        rest -= factor[i * width + reach - (i - k)] * factor[j * width + reach - (j - k)];
      factor[i * width + reach - (i - j)] = i === j ? 1 / Math.sqrt(rest) : rest * factor[j * width + reach];
    }
  // The diagonal holds inverses, so that the solve needs no division. Some lines go side by side, since each
  // step of a line waits for the one before.
  return (values, lines, lineStride, pixelStride) => {
    const all = lines * lineStride;
    for (let from = 0; from < all; from += sideBySide * lineStride) {
      const span = Math.min(sideBySide * lineStride, all - from);
      for (let i = 0; i < length; i++) {
        const at = from + i * pixelStride;
        for (let d = Math.min(i, reach); d > 0; d--)
          subtract(values, at, span, lineStride, factor[i * width + reach - d], -d * pixelStride);
        scale(values, at, span, lineStride, factor[i * width + reach]);
      }
      for (let i = length - 1; i >= 0; i--) {
        const at = from + i * pixelStride;
        for (let d = Math.min(length - 1 - i, reach); d > 0; d--)
          subtract(values, at, span, lineStride, factor[(i + d) * width + reach - d], d * pixelStride);
        scale(values, at, span, lineStride, factor[i * width + reach]);
      }
    }
  };
}

/** Lines that are solved side by side. */
const sideBySide = 16;

/** Take `share` of the pixel `away` from each pixel of a step of the lines. */
function subtract(
  values: Float64Array,
  at: number,
  span: number,
  lineStride: number,
  share: number,
  away: number,
): void {
  for (let k = at; k < at + span; k += lineStride) values[k] -= share * values[k + away];
}

function scale(values: Float64Array, at: number, span: number, lineStride: number, factor: number): void {
  for (let k = at; k < at + span; k += lineStride) values[k] *= factor;
}
