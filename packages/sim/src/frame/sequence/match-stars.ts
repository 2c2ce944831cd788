/** Which star of a frame is which of an earlier one, when all may have moved by the same unknown way. */

export interface StarPlace {
  readonly x: number;
  readonly y: number;
  readonly fluxE: number;
}

export interface StarMatch {
  /** How far the stars moved together, px. */
  readonly dx: number;
  readonly dy: number;
  /** For each star of `known` its place in `found`, or -1. */
  readonly partners: readonly number[];
}

/**
 * Stars of one pair may differ in flux by this factor beyond what all differ: colors of filters, clouds at
 * one side.
 */
const fluxFactor = 2.5;

/**
 * The displacement that most pairs share wins; of equal ones that which keeps the fluxes, then the smallest.
 * With one star that is the nearest of its own brightness. Undefined when no star has a partner.
 *
 * @param tolerancePx  how far pairs of one displacement may lie apart
 */
export function matchStars(
  known: readonly StarPlace[],
  found: readonly StarPlace[],
  tolerancePx: number,
): StarMatch | undefined {
  let best: (StarMatch & { readonly score: number }) | undefined;
  for (const a of known)
    for (const b of found) {
      const ratio = b.fluxE / a.fluxE;
      const [dx, dy] = [b.x - a.x, b.y - a.y];
      const partners = partnersOf(known, found, dx, dy, ratio, tolerancePx);
      const count = partners.filter((k) => k >= 0).length;
      // clouds dim all stars alike; a lone star that is another one is not dimmer by chance
      const change = Math.abs(Math.log2(ratio));
      const score = count - 0.2 * Math.min(change, 2) - 0.3 * Math.min(1, Math.sqrt(dx * dx + dy * dy) / 300);
      if (count === 1 && change > Math.log2(fluxFactor)) continue;
      if (best === undefined || score > best.score) best = { dx, dy, partners, score };
    }
  if (best === undefined) return undefined;
  const { partners } = best;
  const pairs = partners.flatMap((k, i) => (k < 0 ? [] : [{ a: known[i], b: found[k] }]));
  const mean = (of: (pair: (typeof pairs)[number]) => number) =>
    pairs.reduce((sum, pair) => sum + of(pair), 0) / pairs.length;
  return { dx: mean(({ a, b }) => b.x - a.x), dy: mean(({ a, b }) => b.y - a.y), partners };
}

function partnersOf(
  known: readonly StarPlace[],
  found: readonly StarPlace[],
  dx: number,
  dy: number,
  ratio: number,
  tolerancePx: number,
): number[] {
  const taken = new Set<number>();
  return known.map((star) => {
    let [nearest, least2] = [-1, tolerancePx * tolerancePx];
    for (const [k, other] of found.entries()) {
      if (taken.has(k)) continue;
      const change = other.fluxE / star.fluxE / ratio;
      if (change > fluxFactor || change < 1 / fluxFactor) continue;
      const far2 = (other.x - star.x - dx) ** 2 + (other.y - star.y - dy) ** 2;
      if (far2 <= least2) [nearest, least2] = [k, far2];
    }
    if (nearest >= 0) taken.add(nearest);
    return nearest;
  });
}
