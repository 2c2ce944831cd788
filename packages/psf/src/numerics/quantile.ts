/** Order statistics by quickselect: linear time, in place, no allocation. */

/** Of more values than these, the pivot is picked from a sample. */
const sampleFrom = 24;

const sampleSize = 5;
const sample = new Float64Array(sampleSize);

/**
 * The k-th smallest (k from 0) of the first `count` values, none of them NaN; reorders them so that none
 * before k is larger and none after it smaller. Quickselect; the pivot of a long stretch is the one of five
 * spread over it whose rank among them is nearest to the rank that is sought. The stretch is divided after
 * Lomuto without a branch that depends on a value: on noise every other one would be foretold wrongly, which
 * took twice the time.
 */
export function selectKth(values: Float64Array, count: number, k: number): number {
  let low = 0;
  let high = count - 1;
  while (low < high) {
    const length = high - low + 1;
    const pivot =
      length > sampleFrom
        ? sampledPivot(values, low, length, (k - low + 0.5) / length)
        : values[(low + high) >> 1];
    let below = low;
    for (let i = low; i <= high; i++) {
      const value = values[i];
      values[i] = values[below];
      values[below] = value;
      below += +(value < pivot);
    }
    if (k < below) {
      high = below - 1;
      continue;
    }
    let upTo = below;
    for (let i = below; i <= high; i++) {
      const value = values[i];
      values[i] = values[upTo];
      values[upTo] = value;
      upTo += +(value <= pivot);
    }
    // The pivot itself is among these: were none there, it would be NaN.
    if (k < upTo || upTo === low) return pivot;
    low = upTo;
  }
  return values[k];
}

function sampledPivot(values: Float64Array, low: number, length: number, share: number): number {
  const step = (length - 1) / (sampleSize - 1);
  for (let i = 0; i < sampleSize; i++) {
    const value = values[low + Math.floor(i * step)];
    let j = i;
    for (; j > 0 && sample[j - 1] > value; j--) sample[j] = sample[j - 1];
    sample[j] = value;
  }
  return sample[Math.floor(share * sampleSize)];
}

/** Median of the first `count` (>= 1) values, the mean of the middle two when even; reorders them. */
export function medianOf(values: Float64Array, count: number): number {
  const middle = count >> 1;
  const upper = selectKth(values, count, middle);
  if (count % 2 === 1) return upper;
  let lower = -Infinity;
  for (let i = 0; i < middle; i++) if (values[i] > lower) lower = values[i];
  return (lower + upper) / 2;
}

/** The k-th smallest (k from 0) of a list, which stays as it is; NaN of an empty one. No value may be NaN. */
export function kthSmallest(values: ArrayLike<number>, k: number): number {
  return values.length === 0 ? Number.NaN : selectKth(Float64Array.from(values), values.length, k);
}

/** Median of a list, which stays as it is; 0 of an empty one. */
export function median(values: ArrayLike<number>): number {
  return values.length === 0 ? 0 : medianOf(Float64Array.from(values), values.length);
}

/**
 * A normal variable's standard deviation over the median of its distance from the mean: 1 / (inverse normal
 * of 3/4).
 */
export const sigmaPerMedianDeviation = 1.482602218505602;
