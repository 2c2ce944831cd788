/**
 * The pixels about a star, for estimators: guess and background of this image settled, the window laid
 * where it is asked for. One window serves one prepared estimator; it owns the scratch.
 */

import { type BackgroundLevel, type Image, type NotLocated, notLocated, type Position } from './centroid.ts';
import {
  type ResolvedBackground,
  type ResolvedOptions,
  requirePosition,
  resolveBackground,
} from './estimator-options.ts';
import { type FirstGuess, prepareFirstGuess } from './first-guess.ts';
import { type ImageView, viewOf } from './image-view.ts';
import { createPixelList, listPixels, type PixelList } from './valid-pixels.ts';
import { type MomentCut, sumWindow, type WindowSums } from './window-sums.ts';

export class StarWindow {
  /** The pixels of the last `selectPixels`. */
  readonly list: PixelList;
  /** Background taken off this image. */
  background: ResolvedBackground;
  /**
   * Where this image's star is thought to be: the guess given, or found when there is a window to lay;
   * else NaN.
   */
  startX = Number.NaN;
  startY = Number.NaN;

  readonly #options: ResolvedOptions;
  readonly #laid: { -readonly [K in keyof ResolvedOptions]: ResolvedOptions[K] };
  readonly #rough: FirstGuess = { x: 0, y: 0, sigmaPx: 1, flux: 0, level: 0 };
  readonly #leastPixels: number;
  #findRough: ((guess: FirstGuess, list: PixelList) => boolean) | undefined;
  #image: Image | Float64Array = new Float64Array(0);
  #view: ImageView = { data: new Float64Array(0), offset: 0, strideX: 1, strideY: 1 };

  /** @param leastPixels  fewer usable pixels than these are 'too-few-pixels' */
  constructor(options: ResolvedOptions, leastPixels: number) {
    this.#options = options;
    this.#laid = { ...options };
    this.#leastPixels = leastPixels;
    this.background = options.background;
    this.list = createPixelList(options.size);
  }

  /** Take up an image. Without any guess, a window gets one from the whole image. */
  begin(
    image: Image | Float64Array,
    guess: Position | undefined,
    background: number | BackgroundLevel | undefined,
  ): NotLocated | undefined {
    const options = this.#options;
    if (guess !== undefined) requirePosition('guess', guess);
    this.#image = image;
    this.#view = viewOf(image, options.size);
    this.background =
      background === undefined ? options.background : resolveBackground(background, options.backgroundSigma);
    const start = guess ?? options.guess;
    if (start !== undefined) {
      this.startX = start.x;
      this.startY = start.y;
    } else if (options.radiusPx < Infinity) {
      this.selectPixels(0, 0, Infinity);
      if (this.list.count < this.#leastPixels) return notLocated('too-few-pixels');
      const rough = this.roughStar();
      if (rough === undefined) return notLocated('no-flux');
      this.startX = rough.x;
      this.startY = rough.y;
    } else {
      this.startX = Number.NaN;
      this.startY = Number.NaN;
    }
    return undefined;
  }

  /**
   * List the pixels of the window about a place, or of another radius; without a window those of the
   * whole image.
   */
  selectPixels(x: number, y: number, radiusPx: number = this.#options.radiusPx): void {
    this.#laid.radiusPx = radiusPx;
    listPixels(this.list, this.#image, this.#laid, this.background, x, y);
  }

  /**
   * Moments of the window about a place without listing its pixels. False when that needs the list: where
   * pixels are masked, unusable or saturated, or the background slopes.
   */
  sumMoments(out: WindowSums, cut: MomentCut): boolean {
    const { level, slopeX, slopeY } = this.background;
    const options = this.#options;
    if (options.valid !== undefined || slopeX !== 0 || slopeY !== 0) return false;
    return sumWindow(out, this.#view, options, level, cut);
  }

  /** What forbids to measure the star on the pixels now listed. */
  refusal(): NotLocated | undefined {
    if (this.list.count < this.#leastPixels) return notLocated('too-few-pixels');
    if (this.list.saturatedCount > 0) return notLocated('saturated');
    return undefined;
  }

  /** Rough place, width and flux of the star on the pixels now listed; undefined when nothing stands out. */
  roughStar(): FirstGuess | undefined {
    const { width, height } = this.#options.size;
    this.#findRough ??= prepareFirstGuess(width * height);
    return this.#findRough(this.#rough, this.list) ? this.#rough : undefined;
  }

  /** Whether a place lies on the image, and within the window as it was laid first. */
  holds(x: number, y: number): boolean {
    const { size, radiusPx } = this.#options;
    if (!(x >= -0.5 && x <= size.width - 0.5 && y >= -0.5 && y <= size.height - 0.5)) return false;
    return !((x - this.startX) ** 2 + (y - this.startY) ** 2 > radiusPx * radiusPx);
  }
}
