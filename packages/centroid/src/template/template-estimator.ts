/** What all fits with a template share: search, fit, checks, predicted error. */

import {
  requireBoolean,
  requireInteger,
  requireNonNegative,
  requireOneOf,
  requirePositive,
  requireWithin,
} from '@holdfast/psf/numerics';
import {
  type EstimatorOptions,
  type ImageSize,
  type Located,
  type NotLocated,
  notLocated,
  type PreparedEstimator,
} from '../pixels/centroid.ts';
import { estimatorOptionNames, levelAt, resolveOptions } from '../pixels/estimator-options.ts';
import { StarWindow } from '../pixels/star-window.ts';
import type { TemplateModel } from './template-model.ts';
import {
  type TemplateMatch,
  type TemplateSearch,
  TemplateSearcher,
  templateSearches,
} from './template-search.ts';
import { TemplateSolver } from './template-solver.ts';

/** What a fit with a picture of the star takes. */
export interface TemplateOptions extends EstimatorOptions {
  /**
   * How far from `guess` the star is looked for, px. Without a guess it is looked for everywhere. Default 2.
   */
  readonly searchPx?: number;
  /**
   * How the whole-pixel places are searched: one by one ('direct'), all at once by Fourier transform
   * ('fourier'), or by whichever is less work ('auto'). The position found is the same. Default 'auto'.
   */
  readonly search?: TemplateSearch;
  /** Whether a level under the star is fitted, on top of `background`. Default true. */
  readonly fitBackground?: boolean;
  /** Iterations after which it is 'not-converged'. Default 50. */
  readonly maxIterations?: number;
  /** Converged when the position moves by less than this, px. Default 1e-4. */
  readonly tolerancePx?: number;
  /**
   * Least share of the fitted light that must fall on the pixels used, from 0 to 1; with less the star is
   * 'clipped'. Default 0.5. Less will do where a saturated middle is masked: the flanks tell the position.
   */
  readonly leastLightShare?: number;
}

/** Their names. */
export const templateOptionNames =
  `${estimatorOptionNames} searchPx search fitBackground maxIterations tolerancePx leastLightShare` as const;

const templateDefaults = {
  searchPx: 2,
  search: 'auto',
  fitBackground: true,
  maxIterations: 50,
  tolerancePx: 1e-4,
  leastLightShare: 0.5,
} as const;

/**
 * What a comparison with a template finds beside the position. `flux` is in units of the template's own
 * light.
 */
export interface TemplateLocated extends Located {
  /** Electrons per pixel under the star, at its position, `background` included. */
  readonly backgroundE: number;
  /** The parameter of a family of templates that fits best. */
  readonly parameter?: number;
  /** Predicted 1 sigma error of `parameter`. Present when `noise` was given. */
  readonly parameterSigma?: number;
  /**
   * Mean square of the residuals in units of their expected variance: near 1 where the star looks like the
   * template. Only of the template fit.
   */
  readonly reducedChiSquare?: number;
}

export function prepareTemplateEstimator(
  size: ImageSize,
  model: TemplateModel,
  options: TemplateOptions,
  weighByNoise: boolean,
): PreparedEstimator<TemplateLocated> {
  const resolved = resolveOptions(size, options);
  const { width, height } = resolved.size;
  const { hasNoise, minSnr } = resolved;
  const leastLightShare = requireWithin(
    'leastLightShare',
    options.leastLightShare ?? templateDefaults.leastLightShare,
    0,
    1,
  );
  const searchPx = requireNonNegative('searchPx', options.searchPx ?? templateDefaults.searchPx);
  const solverOptions = {
    weighByNoise,
    fitBackground: requireBoolean('fitBackground', options.fitBackground ?? templateDefaults.fitBackground),
    maxIterations: requireInteger(
      'maxIterations',
      options.maxIterations ?? templateDefaults.maxIterations,
      1,
      1e6,
    ),
    tolerancePx: requirePositive('tolerancePx', options.tolerancePx ?? templateDefaults.tolerancePx),
  };
  model.reserve(width * height);
  const leastPixels = 4 + (solverOptions.fitBackground ? 1 : 0) + (model.isFamily ? 1 : 0);
  const window = new StarWindow(resolved, leastPixels);
  const { list } = window;
  const searcher = new TemplateSearcher(
    model,
    width,
    height,
    solverOptions.fitBackground,
    requireOneOf('search', options.search ?? templateDefaults.search, templateSearches),
  );
  const solver = new TemplateSolver(model, list, solverOptions);
  const match: TemplateMatch = { x: 0, y: 0, parameter: 0, flux: 0, background: 0, score: 0 };

  return (image, guess, givenBackground): TemplateLocated | NotLocated => {
    const lost = window.begin(image, guess, givenBackground);
    if (lost !== undefined) return lost;
    const { background, startX, startY } = window;
    window.selectPixels(startX, startY);
    const refusal = window.refusal();
    if (refusal !== undefined) return refusal;
    const reach = (guess ?? resolved.guess) === undefined ? resolved.radiusPx : searchPx;
    if (!searcher.find(match, list, startX, startY, reach)) return notLocated('no-flux');
    const status = solver.solve(match);
    const { x, y, flux, parameter } = solver.at;
    if (status === 'no-flux') return notLocated('no-flux');
    if (!window.holds(x, y)) return notLocated('outside');
    if (status !== 'converged' || solver.atLimit()) return notLocated('not-converged');
    if (solver.lightShare() < leastLightShare) return notLocated('clipped');
    const found = {
      ok: true,
      x,
      y,
      flux,
      iterations: solver.iterations,
      backgroundE: levelAt(background, x, y) + solver.at.background,
      ...(model.isFamily ? { parameter } : {}),
    } as const;
    if (!hasNoise) return found;

    const covariance = solver.covariance(background.sigma);
    if (covariance === undefined) return notLocated('not-converged');
    const { n } = solver;
    const snr = flux / Math.sqrt(covariance[2 * n + 2]);
    if (!(snr >= minSnr)) return notLocated('too-faint');
    const sigmaX = Math.sqrt(covariance[0]);
    const sigmaY = Math.sqrt(covariance[n + 1]);
    // Pixels of 1e30 electrons leave nothing of a variance but cancellation error.
    if (!Number.isFinite(sigmaX + sigmaY + snr)) return notLocated('not-converged');
    return {
      ...found,
      sigmaX,
      sigmaY,
      snr,
      ...(model.isFamily ? { parameterSigma: Math.sqrt(covariance[n * n - 1]) } : {}),
      ...(weighByNoise ? { reducedChiSquare: solver.reducedChiSquare() } : {}),
    };
  };
}
