/** Centers of mass of whole windows by compiled loops, with the same bits. */
import { absurdE, type SumImage, setSumImage } from '@holdfast/centroid/internal';
import { createLoops } from '@holdfast/psf/internal';

let isAsked = false;

/** Have centroid sum by them from now on, where the engine has what they need. */
export function useCompiledSums(): void {
  if (!isAsked) setSumImage(compiledSums());
  isAsked = true;
}

/** Sums of one image at a time, which is copied into the memory of the loops. */
export function compiledSums(): SumImage | undefined {
  const loops = createLoops();
  if (loops === undefined) return undefined;
  const { memory, mostPixels, sumsAt, pixelsAt, sumAbove, sumAll } = loops;
  const found = new Float64Array(memory.buffer, sumsAt.value, 6);
  const pixels = new Float64Array(memory.buffer, pixelsAt.value, mostPixels.value);
  return (sums, { data, strideX, strideY }, { size, fixedVariance }, level, cut, saturated) => {
    const { width, height } = size;
    const { threshold, originX, originY } = cut;
    const isPlain = data.length === width * height && strideX === 1 && strideY === width;
    if (!isPlain || data.length > pixels.length) return false;
    pixels.set(data);
    const isWhole = threshold === -Infinity;
    const sum = isWhole ? sumAll : sumAbove;
    const number = isWhole ? fixedVariance : threshold;
    if (!sum(width, height, level, number, originX, originY, saturated, 0.5 * absurdE)) return false;
    sums.set(found);
    return true;
  };
}
