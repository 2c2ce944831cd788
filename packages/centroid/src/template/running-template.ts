/**
 * A star compared with the mean of itself in the images before: no model of it is needed, whatever its shape.
 */

import { requireLimit, requireNames, requireObject, requireWithin } from '@holdfast/psf/numerics';
import type { BackgroundLevel, Image, ImageSize, NotLocated, Position } from '../pixels/centroid.ts';
import { levelAt, resolveOptions } from '../pixels/estimator-options.ts';
import { StarWindow } from '../pixels/star-window.ts';
import { preparePointSymmetryCenter } from '../symmetry/point-symmetry.ts';
import { MeanStar } from './mean-star.ts';
import type { TemplateImage } from './star-template.ts';
import {
  prepareTemplateEstimator,
  type TemplateLocated,
  type TemplateOptions,
  templateOptionNames,
} from './template-estimator.ts';
import { TemplateModel } from './template-model.ts';

/** How the picture of the star is gathered. */
export interface RunningTemplateOptions extends TemplateOptions {
  /** Radius that holds the star, px. */
  readonly radiusPx: number;
  /**
   * Images that the mean looks back on, >= 1: each new star counts at least 1 / memory. A finite memory
   * follows a star whose shape changes, but its own center wanders with the errors of the positions. Default
   * Infinity: all images alike.
   */
  readonly memory?: number;
}

const runningTemplateDefaults = { memory: Infinity } as const;

/** A picture of the star that follows the frames. */
export interface RunningTemplate {
  /**
   * Locate the star of the next image against the mean of those before, and add it to the mean.
   *
   * @param guess       where the star is thought to be; default: where it was found last
   * @param background  what to take off this image; default: that of the options
   */
  measure(
    image: Image | Float64Array,
    guess?: Position,
    background?: number | BackgroundLevel,
  ): TemplateLocated | NotLocated;
  /** A copy of the mean star; undefined before the first. */
  template(): TemplateImage | undefined;
}

/**
 * Positions of a star relative to its own mean image.
 *
 * The first star is placed at its center of symmetry (`pointSymmetryCenter`), or where it is least unlike
 * itself turned; every later one where it fits the mean of those before best: by the likelihood when `noise`
 * is given, else by the peak of the cross-correlation (`crossCorrelation`). Then it is moved onto that mean
 * by B-splines of degree 9 and added. Positions are relative: all of them may be off by the same amount,
 * which stays as long as the star keeps its shape and `memory` is infinite.
 *
 * Predicted error: that of the fit, times sqrt(1 + s), s = noise of the mean over that of one image, 1 / n
 * after n images.
 *
 * ```ts
 * const star = prepareRunningTemplate({ width: 32, height: 32 }, { radiusPx: 12, noise: { readNoiseE: 1.5 } })
 * for (const frame of frames) {
 *   const found = star.measure(frame)
 *   if (found.ok) correct(found.x, found.y)
 * }
 * ```
 * @throws RangeError or TypeError naming the option that is out of range
 */
export function prepareRunningTemplate(size: ImageSize, options: RunningTemplateOptions): RunningTemplate {
  requireNames('options', options, templateOptionNames, 'memory');
  const { memory = runningTemplateDefaults.memory, noise } = options;
  requireLimit('memory', memory);
  if (memory < 1) throw new RangeError(`memory must be at least 1, got ${memory}`);
  const radiusPx = requireWithin('radiusPx', options.radiusPx, Number.MIN_VALUE, 1024);
  requireObject('size', size);
  const resolved = resolveOptions(size, options);
  const findSymmetry = preparePointSymmetryCenter(size, symmetryOptions(options));
  const window = new StarWindow({ ...resolved, radiusPx: Infinity }, 1);
  const mean = new MeanStar(resolved.size, Math.ceil(radiusPx) + 1);
  let compare: ReturnType<typeof prepareTemplateEstimator> | undefined;
  let model: TemplateModel | undefined;
  let images = 0;
  /** Variance of the mean over that of one image. */
  let share = 0;
  let last: Position | undefined;

  const add = (
    image: Image | Float64Array,
    at: Position,
    background: number | BackgroundLevel | undefined,
  ): void => {
    window.begin(image, at, background);
    window.selectPixels(at.x, at.y);
    images++;
    const weight = Math.max(1 / images, 1 / memory);
    share = (1 - weight) ** 2 * share + weight * weight;
    mean.add(window.list, at.x, at.y, weight);
    const template = mean.template();
    if (template === undefined) return;
    if (model === undefined) {
      model = new TemplateModel(template);
      compare = prepareTemplateEstimator(size, model, options, noise !== undefined);
    } else model.replace(template);
  };

  return {
    measure(image, guess, background) {
      const at = guess ?? last;
      let found: TemplateLocated | NotLocated;
      if (compare === undefined) {
        const center = findSymmetry(image, at, background);
        if (!center.ok) return center;
        window.begin(image, center, background);
        const { reducedChiSquare: _, ...located } = center;
        found = { ...located, backgroundE: levelAt(window.background, center.x, center.y) };
      } else {
        found = compare(image, at, background);
        if (!found.ok) return found;
        if (found.sigmaX !== undefined && found.sigmaY !== undefined) {
          const more = Math.sqrt(1 + share);
          found = { ...found, sigmaX: more * found.sigmaX, sigmaY: more * found.sigmaY };
        }
      }
      add(image, found, background);
      last = { x: found.x, y: found.y };
      return found;
    },
    template: () => (images > 0 ? mean.template() : undefined),
  };
}

/** What the search for the first star takes of the options. */
function symmetryOptions({
  searchPx: _search,
  fitBackground: _fit,
  maxIterations: _iterations,
  tolerancePx: _tolerance,
  leastLightShare: _share,
  memory: _memory,
  search: _direct,
  ...shared
}: RunningTemplateOptions) {
  return shared;
}
