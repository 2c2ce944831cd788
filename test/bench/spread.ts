/** What a speed or a ratio is over the turns. */

export interface Spread {
  readonly median: number;
  readonly lower: number;
  readonly upper: number;
}

/** Median and quartiles, linear between values. */
export function spreadOf(values: readonly number[]): Spread {
  const sorted = [...values].sort((a, b) => a - b);
  const at = (share: number): number => {
    const place = share * (sorted.length - 1);
    const below = Math.floor(place);
    const above = Math.min(below + 1, sorted.length - 1);
    return sorted[below] + (place - below) * (sorted[above] - sorted[below]);
  };
  return { median: at(0.5), lower: at(0.25), upper: at(0.75) };
}
