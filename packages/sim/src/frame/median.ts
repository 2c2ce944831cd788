/** Median of a list; the mean of the two in the middle of an even number; 0 of none. */
export function medianOf(values: number[]): number {
  const sorted = Float64Array.from(values).sort();
  const n = sorted.length;
  return n === 0 ? 0 : (sorted[(n - 1) >> 1] + sorted[n >> 1]) / 2;
}
