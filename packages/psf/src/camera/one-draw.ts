/**
 * Frames with one look into a table for each pixel, instead of a Poisson count and a normal number: photons,
 * read noise and rounding are one distribution (pixel-tables.ts), and a 32-bit word serves three pixels
 * (condensed-tables.ts).
 *
 * The tables are made for a grid of means. What a pixel's mean exceeds the grid by is small, and the sum of
 * it over the frame is a few electrons to a few tens: these are drawn one by one. Pixels too bright for the
 * tables are drawn as `exposeInto` of exposure.ts draws them. So the frames have the distribution of those
 * there, at any light, with the mean of a pixel met to 1e-8 electrons; only the numbers drawn differ.
 */

import { drawOn, slotBits, slotsPerTable } from '../chance/condensed-tables.ts';
import { maxPoissonMean } from '../chance/poisson.ts';
import { type RandomStream, stateOf } from '../chance/random.ts';
import { requirePixels } from '../numerics/require.ts';
import type { ImageSize } from '../shapes/star-plan.ts';
import { type Camera, type ResolvedCamera, resolveCamera } from './camera.ts';
import { lightFault } from './collect-charge.ts';
import { largestAdu, wholeAdu } from './output-range.ts';
import {
  highestCountOf,
  isWholeSteps,
  largestRedrawnMean,
  largestTabulatedMean,
  noiseReachAdu,
  pixelTables,
} from './pixel-tables.ts';

/** Light made ready to be exposed many times, by one caller at a time: it holds scratch. */
export interface PreparedLight {
  /**
   * The three arrays below, one after the other in one memory: with three arrays the loop of looks has not
   * registers enough and takes twice the time (measured).
   */
  readonly work: Int32Array;
  /** First slot of each pixel's table. */
  readonly firstSlot: Int32Array;
  /** The random words of a frame. */
  readonly words: Int32Array;
  /** Pixels whose draw was sent on. */
  readonly sentOn: Int32Array;
  /** Electrons by which the pixels exceed their tables' means, summed up to and including each. */
  readonly excessUpTo: Float64Array;
  /** Where in these sums to begin a search, for as many even steps up to the last. */
  readonly guide: Int32Array;
  /** Pixels too bright for a table, and their means. */
  readonly bright: readonly number[];
  readonly brightMean: readonly number[];
}

/** A camera made ready for frames of one size, one look a pixel. */
export interface OneDraw extends ImageSize {
  /**
   * Make light ready. It takes some 16 ns a pixel; a frame of it takes 4 (measured, 32 x 32 px).
   *
   * @param expected expected electrons of star and sky in each pixel (without dark), width * height, from 0
   *   to 1e12
   * @throws RangeError with position and value of a pixel out of range
   */
  prepareLight(expected: Float64Array): PreparedLight;
  /**
   * Overwrite `out` with one frame in electrons. The same stream gives the same frame: give each a stream of
   * its own, of which no number was drawn.
   */
  exposeInto(out: Float64Array, light: PreparedLight, random: RandomStream): void;
}

/**
 * Make a camera ready for frames by one look a pixel; undefined for a camera that needs more than photons,
 * dark electrons, read noise and rounding: use `prepareExposure` for it.
 *
 * ```ts
 * const size = { width: 32, height: 24 }
 * const plan = prepareOneDraw(defaultCamera, size)
 * if (plan) {
 *   const light = plan.prepareLight(new Float64Array(32 * 24).fill(1.85))
 *   const frame = new Float64Array(32 * 24)
 *   for (let i = 0; i < 1000; i++) plan.exposeInto(frame, light, randomStream('sweep', i))
 * }
 * ```
 * @throws RangeError or TypeError naming the field of the camera that is out of range
 */
export function prepareOneDraw(camera: Camera, { width, height }: ImageSize): OneDraw | undefined {
  const resolved = resolveCamera(camera);
  const limit = largestMean(resolved);
  if (limit === undefined) return undefined;
  const { readNoiseE, gainEPerAdu, offsetAdu, fullWellE, darkEPerS, exposureS } = resolved;
  const tables = pixelTables(readNoiseE, gainEPerAdu);
  const isWhole = isWholeSteps(gainEPerAdu);
  const highestAdu = largestAdu(resolved);
  const darkE = darkEPerS * exposureS;
  const highestExpected = maxPoissonMean - darkE;
  const pixels = width * height;
  const wordsFrom = pixels;
  const sentOnFrom = wordsFrom + Math.ceil(pixels / looksPerWord);
  const scale = Float64Array.of(gainEPerAdu);
  const moreE = new Int32Array(pixels);

  /** Electrons of one pixel by its own Poisson count, some electrons more, and its own read noise. */
  const drawAlone = (mean: number, moreE: number, random: RandomStream): number => {
    const held = Math.min(random.poisson(mean) + moreE, fullWellE);
    const adu = (held + readNoiseE * random.normal()) / gainEPerAdu + offsetAdu;
    return (wholeAdu(adu, highestAdu) - offsetAdu) * gainEPerAdu;
  };

  /** Electrons of the excess: a Poisson count in all, each at a place of its own. */
  const addExcess = (out: Float64Array, light: PreparedLight, random: RandomStream) => {
    const { firstSlot, sentOn, excessUpTo, guide } = light;
    const last = pixels - 1;
    const total = excessUpTo[last];
    const electrons = random.poisson(total);
    let touched = 0;
    for (let i = 0; i < electrons; i++) {
      // 32 bits of a place: the mean of a pixel is met to 1e-8 electrons.
      const place = ((random.word() >>> 0) + 0.5) * 2 ** -32;
      let k = guide[Math.floor(place * pixels)];
      while (excessUpTo[k] <= place * total && k < last) k++;
      if (isWhole) out[k] += 1;
      else if (moreE[k]++ === 0) sentOn[touched++] = k;
    }
    for (let i = 0; i < touched; i++) {
      const k = sentOn[i];
      out[k] = drawAlone(tables.meanOf(firstSlot[k] >> slotBits), moreE[k], random);
      moreE[k] = 0;
    }
  };

  return {
    width,
    height,
    prepareLight(expected) {
      requirePixels('expected', expected, pixels);
      const work = new Int32Array(sentOnFrom + pixels);
      const firstSlot = work.subarray(0, wordsFrom);
      const excessUpTo = new Float64Array(pixels);
      const bright: number[] = [];
      let least = limit;
      for (let k = 0; k < pixels; k++) if (expected[k] + darkE < least) least = expected[k] + darkE;
      // A pixel that is no light at all is refused below.
      const darkest = tables.darkest(Math.max(0, least));
      let excess = 0;
      for (let k = 0; k < pixels; k++) {
        const light = expected[k];
        if (!(light >= 0 && light <= highestExpected)) throw lightFault(light, k, width, highestExpected);
        const mean = light + darkE;
        if (mean <= limit) {
          const table = tables.below(mean, darkest);
          firstSlot[k] = table * slotsPerTable;
          excess += mean - tables.meanOf(table);
        } else bright.push(k);
        excessUpTo[k] = excess;
      }
      return {
        work,
        firstSlot,
        words: work.subarray(wordsFrom, sentOnFrom),
        sentOn: work.subarray(sentOnFrom),
        excessUpTo,
        guide: guideOf(excessUpTo),
        bright,
        brightMean: bright.map((k) => expected[k] + darkE),
      };
    },
    exposeInto(out, light, random) {
      const { work, firstSlot, sentOn, bright, brightMean } = light;
      requirePixels('out', out, pixels);
      const { distributions, memory } = tables;
      const state = pixels <= memory.mostPixels ? stateOf(random) : undefined;
      let sent = sentOn;
      let waiting: number;
      if (state) {
        waiting = memory.lookUp(out, firstSlot, state, gainEPerAdu);
        sent = memory.sentOn;
      } else {
        random.words(light.words);
        waiting = lookUp(out, work, wordsFrom, sentOnFrom, distributions.slots, scale);
      }
      let b = 0;
      for (let i = 0; i < waiting; i++) {
        const k = sent[i];
        // A bright pixel is drawn alone, and what stands at its slot 0 depends on the frames before.
        while (bright[b] < k) b++;
        if (bright[b] === k) continue;
        out[k] = distributions.rest(firstSlot[k] >> slotBits, random) * gainEPerAdu;
      }
      addExcess(out, light, random);
      for (let i = 0; i < bright.length; i++) out[bright[i]] = drawAlone(brightMean[i], 0, random);
    },
  };
}

/** A word of 32 bits serves so many looks. */
const looksPerWord = 3;
// Constants of this module are known to V8 when it compiles the loop of looks; those of others it reads again
// each time.
const slotMask = slotsPerTable - 1;
const secondLook = slotBits;
const thirdLook = 2 * slotBits;
const isSentOn = drawOn;

/**
 * The look of each pixel, its value times `scale[0]`. `work` holds each pixel's first slot, from `words` on
 * the random words, and from `sentOn` on takes the pixels that were sent on. Returns how many these are.
 */
function lookUp(
  out: Float64Array,
  work: Int32Array,
  words: number,
  sentOn: number,
  slots: Int16Array,
  scale: Float64Array,
): number {
  // Out of an array it is a double at any value: a product of small whole numbers is watched for -0, which
  // takes longer.
  const gain = scale[0];
  const pixels = out.length;
  const whole = pixels - (pixels % looksPerWord);
  let waiting = sentOn;
  let w = words;
  let k = 0;
  for (; k < whole; k += looksPerWord) {
    const word = work[w++];
    const a = slots[work[k] + (word & slotMask)];
    const b = slots[work[k + 1] + ((word >>> secondLook) & slotMask)];
    const c = slots[work[k + 2] + ((word >>> thirdLook) & slotMask)];
    out[k] = a * gain;
    out[k + 1] = b * gain;
    out[k + 2] = c * gain;
    if (a === isSentOn) work[waiting++] = k;
    if (b === isSentOn) work[waiting++] = k + 1;
    if (c === isSentOn) work[waiting++] = k + 2;
  }
  for (let word = work[w]; k < pixels; k++, word >>>= secondLook) {
    const value = slots[work[k] + (word & slotMask)];
    out[k] = value * gain;
    if (value === isSentOn) work[waiting++] = k;
  }
  return waiting - sentOn;
}

/** Largest mean of a pixel for which no value in its table meets an end of the output or the full well. */
function largestMean(camera: ResolvedCamera): number | undefined {
  const { readNoiseE, gainEPerAdu, offsetAdu, fullWellE } = camera;
  const isPlain =
    camera.rowNoiseE === 0 &&
    camera.prnu === 0 &&
    camera.dsnuE === 0 &&
    camera.binning.factor === 1 &&
    !(camera.readNoiseTail || camera.hotPixels || camera.cosmicRays || camera.nonLinearity);
  const reach = noiseReachAdu(readNoiseE, gainEPerAdu);
  if (!(isPlain && readNoiseE > 0 && reach <= offsetAdu)) return undefined;
  const highestValue = Math.min(largestAdu(camera) - offsetAdu, -drawOn - 1) - reach;
  const highestCount = Math.min(fullWellE, highestValue * gainEPerAdu);
  let mean = isWholeSteps(gainEPerAdu) ? largestTabulatedMean : largestRedrawnMean;
  while (mean >= 1 && highestCountOf(mean) > highestCount) mean /= 2;
  return mean < 1 ? undefined : mean;
}

/**
 * For each of as many even steps up to the last sum as there are pixels: the first pixel whose sum is above
 * it.
 */
function guideOf(upTo: Float64Array): Int32Array {
  const guide = new Int32Array(upTo.length);
  const total = upTo[upTo.length - 1];
  for (let i = 0, k = 0; i < guide.length; i++) {
    while (k < upTo.length - 1 && upTo[k] <= (i / guide.length) * total) k++;
    guide[i] = k;
  }
  return guide;
}
