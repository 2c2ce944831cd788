/** A smooth curve through points that does not swing beyond them. */

/**
 * Piecewise cubic through points, monotone wherever they are (Fritsch & Carlson 1980, SIAM J. Numer. Anal.
 * 17, 238; from memory: slopes by the weighted harmonic mean of the neighboring ones, 0 at a turning point).
 * Beyond the ends it goes on in a straight line with the slope of the end.
 *
 * @param x  ascending, at least two
 * @param y  as many
 */
export function monotoneCubic(x: Float64Array, y: Float64Array): (at: number) => number {
  const last = x.length - 1;
  if (last < 1 || y.length !== x.length)
    throw new RangeError(`x and y must hold at least two points each, got ${x.length} and ${y.length}`);
  const steps = new Float64Array(last);
  const rises = new Float64Array(last);
  for (let i = 0; i < last; i++) {
    steps[i] = x[i + 1] - x[i];
    if (!(steps[i] > 0)) throw new RangeError(`x must ascend, got ${x[i]} before ${x[i + 1]}`);
    rises[i] = (y[i + 1] - y[i]) / steps[i];
  }
  const slopes = new Float64Array(last + 1);
  slopes[0] = rises[0];
  slopes[last] = rises[last - 1];
  for (let i = 1; i < last; i++) {
    const [before, after] = [rises[i - 1], rises[i]];
    if (before * after <= 0) continue;
    const w1 = 2 * steps[i] + steps[i - 1];
    const w2 = steps[i] + 2 * steps[i - 1];
    slopes[i] = (w1 + w2) / (w1 / before + w2 / after);
  }
  return (at) => {
    if (at <= x[0]) return y[0] + (at - x[0]) * slopes[0];
    if (at >= x[last]) return y[last] + (at - x[last]) * slopes[last];
    let low = 0;
    let high = last;
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if (x[middle] <= at) low = middle;
      else high = middle;
    }
    const h = steps[low];
    const t = (at - x[low]) / h;
    const t2 = t * t;
    const t3 = t2 * t;
    return (
      (2 * t3 - 3 * t2 + 1) * y[low] +
      (t3 - 2 * t2 + t) * h * slopes[low] +
      (3 * t2 - 2 * t3) * y[low + 1] +
      (t3 - t2) * h * slopes[low + 1]
    );
  };
}
