/**
 * The tail of the read noise: a CMOS sensor has some pixels whose read noise is far above the rest, most of
 * all by random telegraph signals. Here each pixel is normal with a standard deviation of its own, one of
 * two:
 *
 *   readNoiseE in most pixels, noiseRatio * readNoiseE in a fixed share of them
 *
 * so that all pixels together have the mean square readNoiseE^2 (1 + fraction (noiseRatio^2 - 1)) and the
 * excess kurtosis 3 (m4 / m2^2 - 1), where m2 and m4 are the means of sigma^2 and sigma^4. That a telegraph
 * signal jumps between a few levels is left out.
 */
import type { RandomStream } from '../../chance/random.ts';
import { requireNames } from '../../numerics/options.ts';
import { requireWithin } from '../../numerics/require.ts';

/** Pixels that are read with more noise than the others. */
export interface ReadNoiseTail {
  /** Share of the pixels that are noisy, from 0 to 1. */
  readonly fraction: number;
  /** Read noise of a noisy pixel over that of the others, from 1 to 1000. */
  readonly noiseRatio: number;
}

export function checkReadNoiseTail(readNoiseTail: ReadNoiseTail): void {
  const { fraction, noiseRatio } = requireNames('camera.readNoiseTail', readNoiseTail, 'fraction noiseRatio');
  requireWithin('camera.readNoiseTail.fraction', fraction, 0, 1);
  requireWithin('camera.readNoiseTail.noiseRatio', noiseRatio, 1, 1000);
}

/**
 * Read noise of one pixel over `readNoiseE`. Pixels that are noisy at one fraction are so at every larger
 * one.
 */
export const drawNoiseRatio = ({ fraction, noiseRatio }: ReadNoiseTail, random: RandomStream): number =>
  random.uniform() < fraction ? noiseRatio : 1;

/** Mean over all pixels of the square of that ratio. */
export const meanSquareRatio = ({ fraction, noiseRatio }: ReadNoiseTail): number =>
  1 + fraction * (noiseRatio * noiseRatio - 1);
