/** Order statistics by quickselect: linear time, in place, no allocation. */

/**
 * The k-th smallest (k from 0) of the first `count` values; reorders them so that none before k is larger and none after
 * it smaller. Hoare's FIND with the middle element as pivot.
 */
export function selectKth(values: Float64Array, count: number, k: number): number {
  let low = 0;
  let high = count - 1;
  while (low < high) {
    const pivot = values[(low + high) >> 1];
    let i = low;
    let j = high;
    while (i <= j) {
      while (values[i] < pivot) i++;
      while (values[j] > pivot) j--;
      if (i <= j) {
        const swap = values[i];
        values[i] = values[j];
        values[j] = swap;
        i++;
        j--;
      }
    }
    if (k <= j) high = j;
    else if (k >= i) low = i;
    else break;
  }
  return values[k];
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
