/** Weighted straight line y = offset + slope (x - x0) through points, with the covariance of both. */

/** A number and its 1 sigma standard error. */
export interface Estimate {
  /** The number itself. */
  readonly value: number;
  /** Its 1 sigma error, in the same unit. */
  readonly standardError: number;
}

export interface LinePoint {
  readonly x: number;
  readonly y: number;
  /** 1 sigma error of y, > 0. */
  readonly sigma: number;
}

export interface StraightLine {
  readonly slope: Estimate;
  /** Value at x0, the weighted mean of x: its error and that of the slope are independent. */
  readonly offset: Estimate;
  readonly x0: number;
  /** Sum of squared residuals over their sigmas squared. */
  readonly chiSquare: number;
  readonly points: number;
}

/** Undefined with fewer than two places x. Errors are those that the sigmas imply. */
export function fitLine(points: readonly LinePoint[]): StraightLine | undefined {
  let [w, wx, wy] = [0, 0, 0];
  for (const { x, y, sigma } of points) {
    const weight = 1 / (sigma * sigma);
    w += weight;
    wx += weight * x;
    wy += weight * y;
  }
  const x0 = wx / w;
  const mean = wy / w;
  let [wxx, wxy] = [0, 0];
  for (const { x, y, sigma } of points) {
    const weight = 1 / (sigma * sigma);
    wxx += weight * (x - x0) ** 2;
    wxy += weight * (x - x0) * (y - mean);
  }
  const widest = points.reduce((most, { x }) => Math.max(most, Math.abs(x - x0)), 0);
  if (points.length < 2 || !(widest > 0)) return undefined;
  const slope = wxy / wxx;
  let chiSquare = 0;
  for (const { x, y, sigma } of points) chiSquare += ((y - mean - slope * (x - x0)) / sigma) ** 2;
  return {
    slope: { value: slope, standardError: Math.sqrt(1 / wxx) },
    offset: { value: mean, standardError: Math.sqrt(1 / w) },
    x0,
    chiSquare,
    points: points.length,
  };
}

/**
 * The same with errors that the scatter of the points about the line implies, where that is what is known:
 * all sigmas are scaled by one factor. `atLeast` 1 never makes them smaller than the sigmas say. Two points
 * have no scatter: unchanged.
 */
export function scaledByScatter(line: StraightLine, atLeast = 0): StraightLine {
  if (line.points < 3) return line;
  const factor = Math.max(atLeast, Math.sqrt(line.chiSquare / (line.points - 2)));
  const wider = ({ value, standardError }: Estimate): Estimate => ({
    value,
    standardError: standardError * factor,
  });
  return { ...line, slope: wider(line.slope), offset: wider(line.offset) };
}
