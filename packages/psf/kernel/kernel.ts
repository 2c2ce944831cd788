/**
 * The inner loops of a simulated frame and of its center of mass, in AssemblyScript: `npm run kernel`
 * compiles them to WebAssembly. Each does what a loop in TypeScript does, to the bit: the looks of
 * src/camera/one-draw.ts with the words of src/chance/xoshiro.ts, the sums of centroid's window-sums.ts.
 */

/** Largest image, px. */
export const mostPixels: i32 = 1 << 16;

/**
 * Where things stand: sums of the image (used, excess, moment, size, variance, moment along y), then those of
 * four rows (used, excess, moment, size, variance, all; four doubles each); the generator's four words; the
 * pixels as doubles; for each pixel the first slot of its table; the pixels that were sent on; the slots.
 */
export const sumsAt: usize = 0;
const rowsAt: usize = 64;
export const stateAt: usize = 256;
export const pixelsAt: usize = 512;
export const firstSlotAt: usize = pixelsAt + 8 * <usize>mostPixels;
export const sentOnAt: usize = firstSlotAt + 4 * <usize>mostPixels;
export const slotsAt: usize = sentOnAt + 4 * <usize>mostPixels;

const looksPerWord = 3;
const slotBits = 10;
/** A slot that sends its draw on. */
const drawOn = -32768;

/** The value in that slot of a pixel's table which the lowest bits of a word choose. */
function look(firstSlot: usize, word: i32): i32 {
  return load<i16>(
    <usize>((load<i32>(firstSlot, firstSlotAt) << 1) + ((word & ((1 << slotBits) - 1)) << 1)),
    slotsAt,
  );
}

/** The look of each pixel, its value times `gain`. Returns how many are sent on. */
export function lookUp(pixels: i32, gain: f64): i32 {
  let s0 = load<i32>(stateAt);
  let s1 = load<i32>(stateAt + 4);
  let s2 = load<i32>(stateAt + 8);
  let s3 = load<i32>(stateAt + 12);
  const gains = f64x2.splat(gain);
  let waiting: usize = sentOnAt;
  let firstSlot: usize = 0;
  let out: usize = 0;
  for (let k = 0; k < pixels; k += looksPerWord) {
    let word = rotl<i32>(s1 * 5, 7) * 9;
    const t = s1 << 9;
    s2 ^= s0;
    s3 ^= s1;
    s1 ^= s2;
    s0 ^= s3;
    s2 ^= t;
    s3 = rotl<i32>(s3, 11);
    if (k + looksPerWord > pixels) {
      for (; k < pixels; k++) {
        const value = look(firstSlot, word);
        store<f64>(out, <f64>value * gain, pixelsAt);
        if (value === drawOn) {
          store<i32>(waiting, k);
          waiting += 4;
        }
        word = word >>> slotBits;
        firstSlot += 4;
        out += 8;
      }
      break;
    }
    const a = look(firstSlot, word);
    const b = look(firstSlot + 4, word >>> slotBits);
    const c = look(firstSlot + 8, word >>> (2 * slotBits));
    const both = i32x4.replace_lane(i32x4.splat(a), 1, b);
    v128.store(out, f64x2.mul(f64x2.convert_low_i32x4_s(both), gains), pixelsAt);
    store<f64>(out, <f64>c * gain, pixelsAt + 16);
    if (a === drawOn) {
      store<i32>(waiting, k);
      waiting += 4;
    }
    if (b === drawOn) {
      store<i32>(waiting, k + 1);
      waiting += 4;
    }
    if (c === drawOn) {
      store<i32>(waiting, k + 2);
      waiting += 4;
    }
    firstSlot += 12;
    out += 24;
  }
  store<i32>(stateAt, s0);
  store<i32>(stateAt + 4, s1);
  store<i32>(stateAt + 8, s2);
  store<i32>(stateAt + 12, s3);
  return <i32>(waiting - sentOnAt) >> 2;
}

/** Add to one of the sums of the image. */
function addTo(sum: usize, value: f64): void {
  store<f64>(sumsAt + sum, load<f64>(sumsAt + sum) + value);
}

/** Add the sums of rows to those of the image; false where a pixel may be unusable or saturated. */
function addRows(y: i32, height: i32, originY: f64, saturated: f64, absurd: f64): bool {
  const count = min<i32>(4, height - y);
  for (let r = 0; r < count; r++) {
    const row = (<usize>r) << 3;
    const excess = load<f64>(row, rowsAt + 32);
    const size = load<f64>(row, rowsAt + 96);
    if (!(abs(load<f64>(row, rowsAt + 160)) < absurd) || size >= saturated) return false;
    addTo(0, load<f64>(row, rowsAt));
    addTo(8, excess);
    addTo(16, load<f64>(row, rowsAt + 64));
    addTo(24, size);
    addTo(32, load<f64>(row, rowsAt + 128));
    addTo(40, excess * (<f64>(y + r) - originY));
  }
  return true;
}

/** One sum of four rows. */
function storeRows(at: usize, low: v128, high: v128): void {
  v128.store(at, low, rowsAt);
  v128.store(at, high, rowsAt + 16);
}

/** Two whole numbers as doubles. */
function countOf(both: v128): v128 {
  const first = f64x2.splat(<f64>i64x2.extract_lane(both, 0));
  return f64x2.replace_lane(first, 1, <f64>i64x2.extract_lane(both, 1));
}

/**
 * Sums over all pixels of an image: what exceeds a threshold above the level, and its moments. Rows are
 * summed four at a time, each in its own order, two in a vector. Returns false where a row may hold a
 * saturated pixel or one that is no number.
 */
export function sumAbove(
  width: i32,
  height: i32,
  level: f64,
  threshold: f64,
  originX: f64,
  originY: f64,
  saturated: f64,
  absurd: f64,
): bool {
  const zero = f64x2.splat(0);
  const half = f64x2.splat(0.5);
  const one = f64x2.splat(1);
  const levels = f64x2.splat(level);
  const thresholds = f64x2.splat(threshold);
  const stride = (<usize>width) << 3;
  memory.fill(sumsAt, 0, stateAt);
  for (let y = 0; y < height; y += 4) {
    // Below the last row that one is summed again, and left out by addRows.
    const row1 = y + 1 < height ? stride : 0;
    const row2 = row1 + (y + 2 < height ? stride : 0);
    const row3 = row2 + (y + 3 < height ? stride : 0);
    let at: usize = pixelsAt + <usize>y * stride;
    const end = at + stride;
    let usedLow = zero;
    let usedHigh = zero;
    let twiceLow = zero;
    let twiceHigh = zero;
    let momentLow = zero;
    let momentHigh = zero;
    let allLow = zero;
    let allHigh = zero;
    let from = f64x2.splat(-originX);
    for (; at < end; at += 8) {
      const low = v128.load64_lane(at + row1, v128.load64_zero(at), 1);
      const high = v128.load64_lane(at + row3, v128.load64_zero(at + row2), 1);
      const overLow = f64x2.sub(f64x2.sub(low, levels), thresholds);
      const overHigh = f64x2.sub(f64x2.sub(high, levels), thresholds);
      const bothLow = f64x2.add(overLow, f64x2.abs(overLow));
      const bothHigh = f64x2.add(overHigh, f64x2.abs(overHigh));
      allLow = f64x2.add(allLow, low);
      allHigh = f64x2.add(allHigh, high);
      usedLow = i64x2.sub(usedLow, f64x2.gt(overLow, zero));
      usedHigh = i64x2.sub(usedHigh, f64x2.gt(overHigh, zero));
      twiceLow = f64x2.add(twiceLow, bothLow);
      twiceHigh = f64x2.add(twiceHigh, bothHigh);
      momentLow = f64x2.add(momentLow, f64x2.mul(bothLow, from));
      momentHigh = f64x2.add(momentHigh, f64x2.mul(bothHigh, from));
      from = f64x2.add(from, one);
    }
    storeRows(0, countOf(usedLow), countOf(usedHigh));
    const excessLow = f64x2.mul(twiceLow, half);
    const excessHigh = f64x2.mul(twiceHigh, half);
    storeRows(32, excessLow, excessHigh);
    storeRows(64, f64x2.mul(momentLow, half), f64x2.mul(momentHigh, half));
    storeRows(96, excessLow, excessHigh);
    storeRows(160, allLow, allHigh);
    if (!addRows(y, height, originY, saturated, absurd)) return false;
  }
  return true;
}

/** The same without a threshold: all pixels, with the variance of each by its own electrons. */
export function sumAll(
  width: i32,
  height: i32,
  level: f64,
  fixedVariance: f64,
  originX: f64,
  originY: f64,
  saturated: f64,
  absurd: f64,
): bool {
  const zero = f64x2.splat(0);
  const one = f64x2.splat(1);
  const levels = f64x2.splat(level);
  const fixed = f64x2.splat(fixedVariance);
  const used = f64x2.splat(<f64>width);
  const stride = (<usize>width) << 3;
  memory.fill(sumsAt, 0, stateAt);
  for (let y = 0; y < height; y += 4) {
    const row1 = y + 1 < height ? stride : 0;
    const row2 = row1 + (y + 2 < height ? stride : 0);
    const row3 = row2 + (y + 3 < height ? stride : 0);
    let at: usize = pixelsAt + <usize>y * stride;
    const end = at + stride;
    let lightLow = zero;
    let lightHigh = zero;
    let momentLow = zero;
    let momentHigh = zero;
    let sizeLow = zero;
    let sizeHigh = zero;
    let varianceLow = zero;
    let varianceHigh = zero;
    let from = f64x2.splat(-originX);
    for (; at < end; at += 8) {
      const low = v128.load64_lane(at + row1, v128.load64_zero(at), 1);
      const high = v128.load64_lane(at + row3, v128.load64_zero(at + row2), 1);
      const overLow = f64x2.sub(low, levels);
      const overHigh = f64x2.sub(high, levels);
      lightLow = f64x2.add(lightLow, overLow);
      lightHigh = f64x2.add(lightHigh, overHigh);
      momentLow = f64x2.add(momentLow, f64x2.mul(overLow, from));
      momentHigh = f64x2.add(momentHigh, f64x2.mul(overHigh, from));
      sizeLow = f64x2.add(sizeLow, f64x2.abs(overLow));
      sizeHigh = f64x2.add(sizeHigh, f64x2.abs(overHigh));
      varianceLow = f64x2.add(varianceLow, f64x2.pmax(zero, f64x2.add(low, fixed)));
      varianceHigh = f64x2.add(varianceHigh, f64x2.pmax(zero, f64x2.add(high, fixed)));
      from = f64x2.add(from, one);
    }
    storeRows(0, used, used);
    storeRows(32, lightLow, lightHigh);
    storeRows(64, momentLow, momentHigh);
    storeRows(96, sizeLow, sizeHigh);
    storeRows(128, varianceLow, varianceHigh);
    storeRows(160, sizeLow, sizeHigh);
    if (!addRows(y, height, originY, saturated, absurd)) return false;
  }
  return true;
}
