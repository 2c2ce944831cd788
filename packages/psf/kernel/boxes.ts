/**
 * The inner loop of the search for stars, in AssemblyScript: `npm run kernel` compiles it to WebAssembly. It
 * does what `findReaching` of centroid's box-row.ts does, to the bit. A module of its own, since a page that
 * only measures stars loads no other.
 */

/** The doubles at two addresses. */
function pairAt(at: usize, next: usize): v128 {
  return v128.load64_lane(at + next, v128.load64_zero(at), 1);
}

/** The light of two boxes between two rows of a summed-area table, `next` bytes apart. */
function boxPair(upper: usize, lower: usize, wide: usize, next: usize): v128 {
  const right = f64x2.sub(pairAt(lower + wide, next), pairAt(lower, next));
  return f64x2.add(f64x2.sub(right, pairAt(upper + wide, next)), pairAt(upper, next));
}

/**
 * Which of the first `count` boxes of a row reach a contrast, as whole numbers at `out`. Addresses are those
 * of the corners on the left of the first, widths and steps are in bytes. Returns how many do.
 */
export function boxesReaching(
  upper: usize,
  lower: usize,
  outerUpper: usize,
  outerLower: usize,
  wide: usize,
  outerWide: usize,
  step: usize,
  count: i32,
  ofInside: f64,
  ofAll: f64,
  least: f64,
  out: usize,
): i32 {
  const insides = f64x2.splat(ofInside);
  const alls = f64x2.splat(ofAll);
  const leasts = f64x2.splat(least);
  let found = out;
  for (let k = 0; k < count; k += 2) {
    // The last of an odd number stands for two.
    const next: usize = k + 1 < count ? step : 0;
    const inside = boxPair(upper, lower, wide, next);
    const all = boxPair(outerUpper, outerLower, outerWide, next);
    const contrast = f64x2.sub(f64x2.mul(insides, inside), f64x2.mul(alls, all));
    const reaching = i64x2.bitmask(f64x2.ge(contrast, leasts));
    if (reaching !== 0) {
      if (reaching & 1) {
        store<i32>(found, k);
        found += 4;
      }
      if (reaching & 2 && next !== 0) {
        store<i32>(found, k + 1);
        found += 4;
      }
    }
    upper += 2 * step;
    lower += 2 * step;
    outerUpper += 2 * step;
    outerLower += 2 * step;
  }
  return <i32>(found - out) >> 2;
}
