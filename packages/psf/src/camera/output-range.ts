/** The whole numbers (ADU) that a camera can put out. */
import { type Binning, readsPerPixel } from '../image/binning.ts';

/** What the output range of a camera depends on; see `Camera`. */
interface CameraOutput {
  readonly offsetAdu: number;
  readonly bitDepth: number;
  readonly binning: Binning;
}

/** End of the output range of one read: 2^bitDepth - 1. */
export const largestAdu = ({ bitDepth }: { readonly bitDepth: number }): number => -1 >>> (32 - bitDepth);

/** Nearest whole ADU, halves up, within 0 and `highest`. */
export function wholeAdu(adu: number, highest: number): number {
  const whole = Math.floor(adu + 0.5);
  return Math.max(0, Math.min(whole, highest));
}

/** Offset and largest output of a pixel of the frame: sums over the reads that make it up. */
export function outputRange({ binning, offsetAdu, bitDepth }: CameraOutput): {
  offsetAdu: number;
  highestAdu: number;
} {
  const reads = readsPerPixel(binning);
  return { offsetAdu: reads * offsetAdu, highestAdu: reads * largestAdu({ bitDepth }) };
}
