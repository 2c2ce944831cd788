/** The CCD equation: how clearly a star stands out of its noise, and how well its magnitude is known. */
import { requireNames } from '../numerics/options.ts';
import { requireNonNegative, requirePositive } from '../numerics/require.ts';

/** A star's electrons and the noise that they stand in. */
export interface StarSnrOptions {
  /** Electrons of the star within the pixels. */
  readonly starE: number;
  /** Pixels over which the star is summed. */
  readonly pixels: number;
  /** Pixels from which the background was estimated. Default Infinity: a background known exactly. */
  readonly backgroundPixels?: number;
  /** Sky electrons in each pixel. Default 0. */
  readonly skyEPerPx?: number;
  /** Dark electrons in each pixel. Default 0. */
  readonly darkEPerPx?: number;
  /** Read noise, electrons rms. */
  readonly readNoiseE: number;
  /** Electrons for one step of the output; its rounding is noise too. Default 0: no rounding. */
  readonly gainEPerAdu?: number;
}

/**
 * Signal to noise ratio of a star summed over pixels (Merline & Howell 1995, Experimental Astronomy 6, 163).
 *
 *   SNR = N / sqrt(N + n (1 + n / n_B) (sky + dark + read^2 + gain^2 / 12))
 *
 * ```ts
 * snrOfStar({ starE: 1000, pixels: 30, skyEPerPx: 10, readNoiseE: 5 }) // 22.1
 * ```
 * @returns the ratio, 0 for a star of 0 electrons
 * @throws RangeError or TypeError naming the argument that is out of range
 */
export function snrOfStar(options: StarSnrOptions): number {
  requireNames(
    'options',
    options,
    'starE pixels backgroundPixels skyEPerPx darkEPerPx readNoiseE gainEPerAdu',
  );
  const { starE, pixels, backgroundPixels = Infinity, readNoiseE } = options;
  const { skyEPerPx = 0, darkEPerPx = 0, gainEPerAdu = 0 } = options;
  requireNonNegative('starE', starE);
  requirePositive('pixels', pixels);
  if (backgroundPixels !== Infinity) requirePositive('backgroundPixels', backgroundPixels);
  requireNonNegative('skyEPerPx', skyEPerPx);
  requireNonNegative('darkEPerPx', darkEPerPx);
  requireNonNegative('readNoiseE', readNoiseE);
  requireNonNegative('gainEPerAdu', gainEPerAdu);
  if (starE === 0) return 0;
  const perPixel = skyEPerPx + darkEPerPx + readNoiseE * readNoiseE + (gainEPerAdu * gainEPerAdu) / 12;
  return starE / Math.sqrt(starE + pixels * (1 + pixels / backgroundPixels) * perPixel);
}

/** Error of a magnitude measured at this signal to noise ratio, 1 sigma: 2.5 / ln 10 / SNR = 1.0857 / SNR. */
export function magnitudeError(snr: number): number {
  return 2.5 / Math.LN10 / requirePositive('snr', snr);
}
