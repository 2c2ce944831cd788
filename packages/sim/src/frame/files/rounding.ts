/** What rounding to whole numbers of 8 bits costs, by the noise that the frame itself shows. */
import type { WholeFrame } from './frame-image.ts';

/** Fewer neighbors than this tell no noise. */
const fewest = 200;
/** A star's light is left out of the noise from so many sigmas on. */
const clipAt = 4;
/** Below a larger error of so much nothing is said: 1 %. */
const leastGrowth = 0.01;
/** Scatter of a pixel, in steps, below which rounding is no more a noise of its own. */
const leastScatter = 0.5;

/**
 * Rounding adds the variance of a step, 1/12, to each pixel of each color (Bennett, Bell System Technical
 * Journal 27, 446, 1948: from memory). The scatter is that of the differences between neighbors, so that
 * neither gradients nor stars count.
 */
export function roundingWarnings({ image, bitpix, saturationAdu, colored, kind }: WholeFrame): string[] {
  if (bitpix !== 8 || (kind === 'fits' && saturationAdu !== 255)) return [];
  const { variance, count, dark } = neighborScatter(image.data);
  if (count < fewest) return [];
  const ofRounding = (colored && saturationAdu !== 255 ? 3 : 1) / 12;
  const light = variance - ofRounding;
  const name = kind === 'netpbm' ? 'Netpbm' : kind.toUpperCase();
  const warnings: string[] = [];
  const scatter = Math.sqrt(Math.max(0, light));
  if (scatter < leastScatter)
    warnings.push(
      `${name}: 8 bits: its background scatters by less than ${leastScatter} steps of its values, so that faint light is lost and the stated ` +
        'errors do not hold: raise the gain, or save 16 bits',
    );
  else if (variance / light > (1 + leastGrowth) ** 2)
    warnings.push(
      `${name}: 8 bits: rounding makes the error of a faint star's position ${(100 * (Math.sqrt(variance / light) - 1)).toFixed(0)} % larger ` +
        `(its background scatters by ${scatter.toFixed(1)} steps): raise the gain, or save 16 bits`,
    );
  if (dark > 0.5)
    warnings.push(
      `${name}: ${(100 * dark).toFixed(0)} % of its pixels are 0: noise below 0 is cut off, which pulls positions: raise the offset`,
    );
  return warnings;
}

function neighborScatter(pixels: Float64Array): { variance: number; count: number; dark: number } {
  let limit = Infinity;
  let variance = 0;
  let count = 0;
  let zeros = 0;
  for (let pass = 0; pass < 8; pass++) {
    let squares = 0;
    count = 0;
    zeros = 0;
    for (let k = 1; k < pixels.length; k++) {
      const difference = pixels[k] - pixels[k - 1];
      if (pixels[k] === 0) zeros++;
      if (!(Math.abs(difference) <= limit)) continue;
      squares += difference * difference;
      count++;
    }
    variance = squares / (2 * Math.max(1, count));
    limit = clipAt * Math.max(1, Math.sqrt(2 * variance));
  }
  return { variance, count, dark: zeros / Math.max(1, pixels.length - 1) };
}
