/** Fit of a pixel-integrated Gaussian, by least squares or by likelihood. */

import {
  prepareLevenbergMarquardt,
  requireBoolean,
  requireInteger,
  requireNames,
  requireOneOf,
  requirePositive,
  requireWithin,
} from '@holdfast/psf/numerics';
import {
  type Image,
  type ImageSize,
  type Located,
  type NotLocated,
  notLocated,
  type PreparedEstimator,
} from '../pixels/centroid.ts';
import { levelAt, resolveOptions } from '../pixels/estimator-options.ts';
import { sizeOf } from '../pixels/image-view.ts';
import {
  type RecenterOptions,
  recenteringGain,
  recenterOptionNames,
  resolveRecenter,
  settledPx,
} from '../pixels/recentering.ts';
import { StarWindow } from '../pixels/star-window.ts';
import { type FitWeighting, fitWeightings } from './fit-weighting.ts';
import { modelUnknowns, place, shearAt } from './gaussian-equations.ts';
import { GaussianProblem } from './gaussian-problem.ts';

/** FWHM of a Gaussian over its rms width. */
const fwhmPerSigma = 2 * Math.sqrt(2 * Math.LN2);

/** How a Gaussian is fitted. */
export interface GaussianFitOptions extends RecenterOptions {
  /** How the pixels weigh. 'noise' and 'likelihood' need `noise`. Default 'none'. */
  readonly weighting?: FitWeighting;
  /** One width; one along x and one along y; or two at any angle. Default 'circular'. */
  readonly shape?: 'circular' | 'elliptical' | 'rotated';
  /** Full width at half maximum of the star where it is known, px: held fixed. Default: fitted. */
  readonly fwhmPx?: number;
  /** Whether a level under the star is fitted, on top of `background`. Default true. */
  readonly fitBackground?: boolean;
  /** Iterations after which it is 'not-converged'. Default 100. */
  readonly maxIterations?: number;
  /** Converged when no unknown moves by more than this times its scale (width, flux). Default 1e-6. */
  readonly tolerance?: number;
  /**
   * Least share of the fitted light that must fall on the pixels used, from 0 to 1; with less the star is
   * 'clipped'. Default 0.5. Less will do where a saturated middle is masked: the flanks tell the position.
   */
  readonly leastLightShare?: number;
}

const gaussianFitDefaults = {
  weighting: 'none',
  shape: 'circular',
  fitBackground: true,
  maxIterations: 100,
  tolerance: 1e-6,
  leastLightShare: 0.5,
} as const;

/**
 * Unknowns of the fit, by the name of the result they stand for; `shear`: px that the middle of a rotated one
 * moves along x from row to row.
 */
export type GaussianUnknown = 'x' | 'y' | 'fwhmPx' | 'fwhmXPx' | 'fwhmYPx' | 'flux' | 'backgroundE' | 'shear';

/**
 * What a Gaussian fit finds beside the position. `flux` is that of the whole Gaussian, also beyond the pixels
 * used.
 */
export interface GaussianLocated extends Located {
  /** Full width at half maximum, px: the geometric mean of both axes. */
  readonly fwhmPx: number;
  /** FWHM along x, px; of a rotated one that of each row. */
  readonly fwhmXPx: number;
  /** FWHM along y, px; of a rotated one that of the sums over rows. */
  readonly fwhmYPx: number;
  /** Of a rotated one: its FWHM along the long axis, in the direction of that axis, px. */
  readonly longAxisPx?: { readonly x: number; readonly y: number };
  /** Electrons per pixel under the star, at its position, `background` included. */
  readonly backgroundE: number;
  /**
   * Predicted covariance of the fitted unknowns, row-major in their order. Present when `noise` was given.
   */
  readonly covariance?: { readonly unknowns: readonly GaussianUnknown[]; readonly values: Float64Array };
}

/** The unweighted fit that precedes a weighted one need only be near. */
const roughTolerance = 1e-2;

/**
 * Position of a star by a fit of  flux * Gaussian + background,  the Gaussian integrated over each pixel.
 *
 * Unknowns: x, y, width (two for 'elliptical', along the image axes; two and a shear for 'rotated', which is
 * integrated along rows and taken at the middle of each: positions within 1e-5 px, widths within 4 %), flux
 * and background. The start is where
 * the smoothed light exceeds half its peak, or `guess`; with `radiusPx` only the pixels around it are fitted,
 * again around the position found until that settles. Weighting:
 * - 'none': least squares. The photon noise of the bright pixels counts too much: for a Gaussian star without
 *   background the variance is 16/9 of the least possible (Mortensen et al. 2010, Nat. Methods 7, 377);
 *   against a strong background it is the least possible. Asks for no noise model.
 * - 'noise': weights from the noise that the unweighted fit implies, held. Near the bound at more than a few
 *   electrons per pixel.
 * - 'likelihood': maximum likelihood of Poisson counts with read noise; reaches the bound.
 * On a star that is not Gaussian (a ring, a comet) all three have a position of their own: on a symmetric
 * ring its center. Fit a ring that is wide for its blur with a known background (`fitBackground: false`): a
 * free one trades against an ever wider Gaussian, and the fit ends as 'not-converged'.
 *
 * Predicted error: the covariance A^-1 B A^-1 of the estimate under the noise model, with A the Hessian of
 * what is minimized and B the variance of its gradient. First order: good while sigmaX is well below the
 * width.
 *
 * ```ts
 * const found = gaussianFit(stamp, { noise: { readNoiseE: 1.5 }, weighting: 'likelihood' })
 * if (found.ok) console.log(found.x, found.sigmaX, found.fwhmPx)
 * ```
 * @returns position in px with width and background; or 'too-few-pixels' (not more than unknowns),
 *          'saturated', 'no-flux' (nothing above the level, or fitted flux <= 0), 'not-converged' (iteration
 *          limit, or the width fell to 0.1 px or rose to twice the window), 'outside', 'clipped' (half of the
 *          fitted light beyond the pixels used), 'too-faint'
 * @throws RangeError or TypeError naming the option that is out of range, or when a weighting lacks its
 *   `noise`
 */
export function gaussianFit(image: Image, options: GaussianFitOptions = {}): GaussianLocated | NotLocated {
  return prepareGaussianFit(sizeOf(image), options)(image);
}

/** {@link gaussianFit} made ready for many images of one size. */
export function prepareGaussianFit(
  size: ImageSize,
  options: GaussianFitOptions = {},
): PreparedEstimator<GaussianLocated> {
  requireNames(
    'options',
    options,
    recenterOptionNames,
    'weighting shape fwhmPx fitBackground maxIterations tolerance leastLightShare',
  );
  const resolved = resolveOptions(size, options);
  const fit = resolveFit(options);
  const { free, names, recenter } = fit;
  const { hasNoise, minSnr, radiusPx } = resolved;
  const hasRadius = radiusPx < Infinity;
  const n = names.length;
  const window = new StarWindow(resolved, n + 1);
  const problem = new GaussianProblem(window.list, resolved.size.width, resolved.size.height, free);
  const { model } = problem;
  const minimize = prepareLevenbergMarquardt(n);
  const unknowns = new Float64Array(n);
  /** Where the window lies, and how many minimizations and iterations this image has taken. */
  const at = { x: 0, y: 0, passes: 0, iterations: 0 };

  /** Put the window on a place; the reason where too few pixels are left. */
  const placeWindow = (x: number, y: number): NotLocated | undefined => {
    at.x = x;
    at.y = y;
    window.selectPixels(x, y);
    return window.refusal();
  };

  /** Start from where the light is; false where there is none. */
  const start = (): boolean => {
    const rough = window.roughStar();
    if (rough === undefined) return false;
    model[place.x] = Number.isNaN(at.x) ? rough.x : at.x;
    model[place.y] = Number.isNaN(at.y) ? rough.y : at.y;
    model[place.sigmaX] = fit.heldSigma ?? rough.sigmaPx;
    model[place.sigmaY] = fit.heldSigma ?? rough.sigmaPx;
    model[shearAt] = 0;
    model[place.flux] = rough.flux;
    model[place.background] = fit.fitBackground ? rough.level : 0;
    return true;
  };

  /**
   * Minimize from where `model` is; whether it converged. A weighted fit begins with a rough unweighted one.
   */
  const minimizeHere = (): boolean => {
    problem.begin(unknowns);
    if (fit.weighting !== 'none') {
      if (at.passes === 0) {
        const near = minimize(unknowns, problem, { ...fit.limits, tolerance: roughTolerance });
        at.iterations += near.iterations;
        if (near.status !== 'converged') return false;
      }
      if (fit.weighting === 'noise') problem.useVariance(unknowns);
      else problem.useLikelihood();
    }
    const end = minimize(unknowns, problem, fit.limits);
    at.iterations += end.iterations;
    at.passes++;
    return end.status === 'converged';
  };

  /** Covariance of the unknowns, with what a window that follows the star adds. */
  const covarianceHere = (backgroundSigma: number): Float64Array | undefined => {
    const values = problem.covariance(unknowns, backgroundSigma);
    if (values === undefined || !hasRadius || recenter === 0) return values;
    window.selectPixels(at.x, at.y, radiusPx + 0.5);
    const follow = problem.follow(unknowns, at.x, at.y, radiusPx);
    scaleUnknown(values, n, free[place.x], recenteringGain(follow.x));
    scaleUnknown(values, n, free[place.y], recenteringGain(follow.y));
    return values;
  };

  return (image, guess, givenBackground) => {
    const lost = window.begin(image, guess, givenBackground);
    if (lost !== undefined) return lost;
    const refusal = placeWindow(window.startX, window.startY);
    if (refusal !== undefined) return refusal;
    if (!start()) return notLocated('no-flux');
    at.passes = 0;
    at.iterations = 0;
    for (;;) {
      const converged = minimizeHere();
      if (at.passes === 0) return notLocated('not-converged');
      const { x, y, share } = problem.finish(unknowns);
      if (!(model[place.flux] > 0)) return notLocated('no-flux');
      if (!converged || problem.atWidthLimit(unknowns)) return notLocated('not-converged');
      if (!window.holds(x, y)) return notLocated('outside');
      const hasSettled = (x - at.x) ** 2 + (y - at.y) ** 2 < settledPx * settledPx;
      if (!hasRadius || at.passes > recenter || hasSettled) return result(x, y, share);
      const refusalHere = placeWindow(x, y);
      if (refusalHere !== undefined) return refusalHere;
      model[place.x] = x;
      model[place.y] = y;
    }
  };

  function result(x: number, y: number, share: number): GaussianLocated | NotLocated {
    if (share < fit.leastLightShare) return notLocated('clipped');
    const { background } = window;
    const flux = model[place.flux];
    const sigmaX = model[place.sigmaX];
    const sigmaY = model[place.sigmaY];
    const found = {
      ok: true,
      x,
      y,
      flux,
      iterations: at.iterations,
      fwhmPx: fwhmPerSigma * Math.sqrt(sigmaX * sigmaY),
      fwhmXPx: fwhmPerSigma * sigmaX,
      fwhmYPx: fwhmPerSigma * sigmaY,
      backgroundE: levelAt(background, x, y) + model[place.background],
      ...(free[shearAt] < 0 ? {} : { longAxisPx: longAxisOf(model) }),
    } as const;
    if (!hasNoise) return found;

    const values = covarianceHere(background.sigma);
    if (values === undefined) return notLocated('not-converged');
    const f = free[place.flux];
    const snr = flux / Math.sqrt(values[f * n + f]);
    if (!(snr >= minSnr)) return notLocated('too-faint');
    for (let i = 0; i < n; i++) if (names[i].startsWith('fwhm')) scaleUnknown(values, n, i, fwhmPerSigma);
    return {
      ...found,
      sigmaX: Math.sqrt(values[0]),
      sigmaY: Math.sqrt(values[n + 1]),
      snr,
      covariance: { unknowns: names, values },
    };
  }
}

/** The long axis of a sheared Gaussian, by the eigenvalues of its second moments. */
function longAxisOf(model: Float64Array): { x: number; y: number } {
  const yy = model[place.sigmaY] ** 2;
  const xy = 2 * model[shearAt] * yy;
  const xx = model[place.sigmaX] ** 2 + (model[shearAt] * xy) / 2;
  const apart = Math.sqrt((xx - yy) ** 2 + xy * xy);
  const long2 = (fwhmPerSigma ** 2 * (xx + yy + apart)) / 2;
  const cosine = (xx - yy) / (apart || 1);
  const y = Math.sqrt((long2 * (1 - cosine)) / 2);
  return { x: Math.sqrt((long2 * (1 + cosine)) / 2), y: xy < 0 ? -y : y };
}

/** The covariance when unknown `i` is counted in units of 1 / factor. */
function scaleUnknown(values: Float64Array, n: number, i: number, factor: number): void {
  for (let j = 0; j < n; j++) {
    values[i * n + j] *= factor;
    values[j * n + i] *= factor;
  }
}

/** The fit's own options, checked, and which unknowns they leave free. */
function resolveFit(options: GaussianFitOptions) {
  const { fwhmPx, noise } = options;
  const weighting = requireOneOf(
    'weighting',
    options.weighting ?? gaussianFitDefaults.weighting,
    fitWeightings,
  );
  if (weighting !== 'none' && noise === undefined)
    throw new TypeError(`weighting '${weighting}' needs noise, got none`);
  const shape = requireOneOf('shape', options.shape ?? gaussianFitDefaults.shape, [
    'circular',
    'elliptical',
    'rotated',
  ] as const);
  const fitBackground = requireBoolean(
    'fitBackground',
    options.fitBackground ?? gaussianFitDefaults.fitBackground,
  );
  const free = new Int8Array(modelUnknowns).fill(-1);
  const names: GaussianUnknown[] = ['x', 'y'];
  free[place.x] = 0;
  free[place.y] = 1;
  if (fwhmPx === undefined) {
    free[place.sigmaX] = names.length;
    names.push(shape === 'circular' ? 'fwhmPx' : 'fwhmXPx');
    if (shape !== 'circular') names.push('fwhmYPx');
    free[place.sigmaY] = names.length - 1;
    if (shape === 'rotated') {
      free[shearAt] = names.length;
      names.push('shear');
    }
  }
  free[place.flux] = names.length;
  names.push('flux');
  if (fitBackground) {
    free[place.background] = names.length;
    names.push('backgroundE');
  }
  return {
    weighting,
    fitBackground,
    recenter: resolveRecenter(options),
    leastLightShare: requireWithin(
      'leastLightShare',
      options.leastLightShare ?? gaussianFitDefaults.leastLightShare,
      0,
      1,
    ),
    heldSigma: fwhmPx === undefined ? undefined : requirePositive('fwhmPx', fwhmPx) / fwhmPerSigma,
    free,
    names,
    limits: {
      maxIterations: requireInteger(
        'maxIterations',
        options.maxIterations ?? gaussianFitDefaults.maxIterations,
        1,
        1e6,
      ),
      tolerance: requirePositive('tolerance', options.tolerance ?? gaussianFitDefaults.tolerance),
    },
  };
}
