/**
 * Frames with one look into a table for each pixel, instead of a Poisson count and a normal number: photons, read noise
 * and rounding are one distribution (pixel-tables.ts), and a 32-bit word serves three pixels (condensed-tables.ts).
 *
 * The tables are made for a grid of means. What a pixel's mean exceeds the grid by is small, and the sum of it over the
 * frame is a few electrons to a few tens: these are drawn one by one. Pixels too bright for the
 * tables are drawn as `exposeInto` of exposure.ts draws them. So the frames have the distribution of those there, to what
 * 53 random bits resolve, at any light; only the numbers drawn differ.
 */
import { largestAdu, wholeAdu } from './adu.ts';
import { type Camera, type ResolvedCamera, resolveCamera } from './camera.ts';
import { lightFault } from './collect-charge.ts';
import { drawOn, slotBits, slotsPerTable } from './condensed-tables.ts';
import {
  highestCountOf,
  isWholeSteps,
  largestRedrawnMean,
  largestTabulatedMean,
  meanOf,
  noiseReachAdu,
  pixelTables,
} from './pixel-tables.ts';
import { maxPoissonMean } from './poisson.ts';
import type { RandomStream } from './random.ts';
import { requirePixels } from './require.ts';
import type { StampSize } from './star-plan.ts';

/** Light made ready to be exposed many times. */
export interface PreparedLight {
  /** First slot of each pixel's table. */
  readonly slot: Int32Array;
  /** Electrons by which the pixels exceed their tables' means, summed up to and including each. */
  readonly excessUpTo: Float64Array;
  /** Where in these sums to begin a search, for as many even steps up to the last. */
  readonly guide: Int32Array;
  /** Pixels too bright for a table, and their means. */
  readonly bright: readonly number[];
  readonly brightMean: readonly number[];
}

/** A camera made ready for frames of one size, one look a pixel. */
export interface OneDraw extends StampSize {
  /**
   * Make light ready. It takes some 10 ns a pixel; a frame of it takes 2 to 3.
   *
   * @param expected  expected electrons of star and sky in each pixel (without dark), width * height, from 0 to 1e12
   * @throws RangeError with position and value of a pixel out of range
   */
  prepareLight(expected: Float64Array): PreparedLight;
  /**
   * Overwrite `out` with one frame in electrons. The same stream gives the same frame: give each a stream of its own, of
   * which no number was drawn.
   */
  exposeInto(out: Float64Array, light: PreparedLight, random: RandomStream): void;
}

/**
 * Make a camera ready for frames by one look a pixel; undefined for a camera that needs more than photons, dark electrons,
 * read noise and rounding: use `prepareExposure` for it.
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
export function prepareOneDraw(camera: Camera, { width, height }: StampSize): OneDraw | undefined {
  const resolved = resolveCamera(camera);
  const limit = largestMean(resolved);
  if (limit === undefined) return undefined;
  const { readNoiseE, gainEPerAdu, offsetAdu, fullWellE, darkEPerS, exposureS } = resolved;
  const tables = pixelTables(readNoiseE, gainEPerAdu);
  const { slots } = tables.distributions;
  const steps = tables.stepsPerElectron;
  const highestAdu = largestAdu(resolved);
  const darkE = darkEPerS * exposureS;
  const highestExpected = maxPoissonMean - darkE;
  const pixels = width * height;
  const words = new Int32Array(Math.ceil(pixels / looksPerWord));
  const sentOn = new Int32Array(pixels);
  const moreE = new Int32Array(pixels);

  /** ADU above the offset of one pixel by its own Poisson count, some electrons more, and its own read noise. */
  const drawAlone = (mean: number, moreE: number, random: RandomStream): number => {
    const held = Math.min(random.poisson(mean) + moreE, fullWellE);
    const adu = (held + readNoiseE * random.normal()) / gainEPerAdu + offsetAdu;
    return wholeAdu(adu, highestAdu) - offsetAdu;
  };

  /** Electrons of the excess: a Poisson count in all, each at a place of its own. */
  const addExcess = (out: Float64Array, { slot, excessUpTo, guide }: PreparedLight, random: RandomStream) => {
    const last = pixels - 1;
    const total = excessUpTo[last];
    const electrons = random.poisson(total);
    let touched = 0;
    for (let i = 0; i < electrons; i++) {
      const place = random.uniform();
      let k = guide[Math.floor(place * pixels)];
      while (excessUpTo[k] <= place * total && k < last) k++;
      if (steps !== undefined) out[k] += steps;
      else if (moreE[k]++ === 0) sentOn[touched++] = k;
    }
    for (let i = 0; i < touched; i++) {
      const k = sentOn[i];
      out[k] = drawAlone(meanOf(slot[k] >> slotBits), moreE[k], random);
      moreE[k] = 0;
    }
  };

  return {
    width,
    height,
    prepareLight(expected) {
      requirePixels('expected', expected, pixels);
      const slot = new Int32Array(pixels);
      const excessUpTo = new Float64Array(pixels);
      const bright: number[] = [];
      let excess = 0;
      for (let k = 0; k < pixels; k++) {
        const light = expected[k];
        if (!(light >= 0 && light <= highestExpected)) throw lightFault(light, k, width, highestExpected);
        const mean = light + darkE;
        if (mean <= limit) {
          const table = tables.below(mean);
          slot[k] = table * slotsPerTable;
          excess += mean - meanOf(table);
        } else bright.push(k);
        excessUpTo[k] = excess;
      }
      const guide = guideOf(excessUpTo);
      return { slot, excessUpTo, guide, bright, brightMean: bright.map((k) => expected[k] + darkE) };
    },
    exposeInto(out, light, random) {
      const { slot, bright, brightMean } = light;
      requirePixels('out', out, pixels);
      random.words(words);
      const waiting = lookUp(out, slot, slots, words, sentOn);
      for (let i = 0; i < waiting; i++) {
        const k = sentOn[i];
        out[k] = tables.distributions.rest(slot[k] >> slotBits, random.uniform());
      }
      addExcess(out, light, random);
      for (let i = 0; i < bright.length; i++) out[bright[i]] = drawAlone(brightMean[i], 0, random);
      // Whole numbers until here: multiplied in the loop of looks, they cost three times as much.
      if (gainEPerAdu !== 1) for (let k = 0; k < pixels; k++) out[k] *= gainEPerAdu;
    },
  };
}

/** A word of 32 bits serves so many looks. */
const looksPerWord = 3;
const slotMask = slotsPerTable - 1;

/** The look of each pixel, in ADU above the offset. Those that are sent on go to `sentOn`; how many they are. */
function lookUp(
  out: Float64Array,
  slot: Int32Array,
  slots: Int16Array,
  words: Int32Array,
  sentOn: Int32Array,
): number {
  let waiting = 0;
  const pixels = slot.length;
  const whole = pixels - (pixels % looksPerWord);
  let w = 0;
  let k = 0;
  for (; k < whole; k += looksPerWord) {
    const word = words[w++];
    const a = slots[slot[k] + (word & slotMask)];
    const b = slots[slot[k + 1] + ((word >>> slotBits) & slotMask)];
    const c = slots[slot[k + 2] + ((word >>> (2 * slotBits)) & slotMask)];
    out[k] = a;
    out[k + 1] = b;
    out[k + 2] = c;
    if (a === drawOn) sentOn[waiting++] = k;
    if (b === drawOn) sentOn[waiting++] = k + 1;
    if (c === drawOn) sentOn[waiting++] = k + 2;
  }
  for (let word = words[w]; k < pixels; k++, word >>>= slotBits) {
    const value = slots[slot[k] + (word & slotMask)];
    out[k] = value;
    if (value === drawOn) sentOn[waiting++] = k;
  }
  return waiting;
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

/** For each of as many even steps up to the last sum as there are pixels: the first pixel whose sum is above it. */
function guideOf(upTo: Float64Array): Int32Array {
  const guide = new Int32Array(upTo.length);
  const total = upTo[upTo.length - 1];
  for (let i = 0, k = 0; i < guide.length; i++) {
    while (k < upTo.length - 1 && upTo[k] <= (i / guide.length) * total) k++;
    guide[i] = k;
  }
  return guide;
}
