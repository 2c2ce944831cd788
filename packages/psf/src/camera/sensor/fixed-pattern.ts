/**
 * Fixed pattern: how the pixels of one sensor differ from each other on every frame, in the terms of EMVA 1288. Pixels are
 * independent; the patterns of whole rows and columns, which the standard tells apart since release 4, are left out.
 */
import type { RandomStream } from '../../chance/random.ts';

/** Largest PRNU of a camera. Five times this is still a response above 0. */
export const highestPrnu = 0.2;

/**
 * Response of one pixel relative to the mean pixel, 1 + prnu z with a normal z: what it delivers for each electron that it
 * holds. Not below 0, which at `highestPrnu` cuts off one pixel in 3.5 million.
 */
export const drawResponse = (prnu: number, random: RandomStream): number =>
  Math.max(0, 1 + prnu * random.normal());

/** Offset of one pixel, electrons: normal, of mean 0, independent of exposure. */
export const drawOffsetE = (dsnuE: number, random: RandomStream): number => dsnuE * random.normal();
