/** The point about which a star is most like itself turned by half a turn: no template, no model. */

import { requireInteger, requireNames } from '@holdfast/psf/numerics';
import {
  type Image,
  type ImageSize,
  type Located,
  type NotLocated,
  notLocated,
  type PreparedEstimator,
} from '../pixels/centroid.ts';
import { resolveOptions } from '../pixels/estimator-options.ts';
import { sizeOf } from '../pixels/image-view.ts';
import { type RecenterOptions, recenterOptionNames, resolveRecenter } from '../pixels/recentering.ts';
import { StarWindow } from '../pixels/star-window.ts';
import type { StarLight } from './half-turn.ts';
import { SymmetryPeak } from './symmetry-peak.ts';

/** How the center of symmetry is looked for. */
export interface PointSymmetryOptions extends RecenterOptions {
  /**
   * How far from the guess the center is looked for at once, whole px; `recenter` times it may go on. Default
   * 1.
   */
  readonly searchPx?: number;
}

const pointSymmetryDefaults = { searchPx: 1 } as const;

/** A star located by its symmetry. */
export interface PointSymmetryLocated extends Located {
  /**
   * Mean square difference of opposite pixels in units of what noise makes: near 1 for a star that half a
   * turn leaves as it is, more for a comet or a ring that is cut. Present when `noise` was given.
   */
  readonly reducedChiSquare?: number;
}

/** Fewer pixels have too few pairs for a grid of centers. */
const leastPixels = 25;

/** Least share of the light that must have a counterpart in the pixels used. */
const leastPairedShare = 0.5;

/** The window is not centered anew for less than this, px: only pairs within it count, wherever it lies. */
const nearPx = 0.5;

/**
 * Position of a star by its own symmetry: the center about which turning by half a turn changes the image
 * least.
 *
 *   D(c) = sum over pairs of (e(k) - e(2c - k))^2 - (what noise makes of it),   minimal at c = (x, y)
 *
 * taken where 2c is whole, so that pixels meet pixels, and between these centers by B-splines of degree 9,
 * which smooth it by 0.46 px rms; in faint stars by 0.68 px. With a `noise` model e = 2 sqrt(electrons +
 * background + backgroundE + R^2 + 3/8), whose noise is 1 in every pixel (Anscombe 1948, Biometrika 35, 246);
 * without one, e is the electrons themselves. To first order this weighs the pixels as the likelihood does
 * (derived), so that a bright ring of any shape is located nearly as well as by a fit of its true template:
 * measured for rings of 0 to 40 px and blur of FWHM 2.5 px, 1.01 to 1.08 of the least possible error where
 * the flux is above some 150 times its error, 1.03 to 1.2 at 50 times; without a noise model up to 1.27. In
 * fainter stars the noise of pairs of empty pixels takes over: 1.06 in focus, 1.6 at 20 px at 15 times.
 *
 * A level left in the image does not pull: only differences count. A pixel that is masked or beyond the
 * window drops out with its partner, which pulls a little where it cuts the star: a masked column through the
 * flank of a star of FWHM 3 px moves it by 0.1 px, and so does an edge that cuts off a tenth of a ring of 20
 * px. A comet, or a ring with a clipped side, has no such center of its own: the point found is where it is
 * least unlike itself.
 *
 * Predicted error: from the noise of each pixel through its pair, and the noise of both pixels of a pair
 * together. A star counts as found when its light stands out in the window, or else in a disc that suits its
 * rough width; `flux` and `snr` are those of that light.
 *
 * ```ts
 * const found = pointSymmetryCenter(stamp, { guess: { x: 15, y: 16 }, radiusPx: 12, noise: { readNoiseE: 1.5 } })
 * ```
 * @returns position in px; or 'too-few-pixels' (fewer than 25), 'saturated', 'no-flux', 'not-converged' (no
 *          center is better than the ones around it), 'outside', 'clipped' (half of the light has no
 *          counterpart), 'too-faint'
 * @throws RangeError or TypeError naming the option that is out of range
 */
export function pointSymmetryCenter(
  image: Image,
  options: PointSymmetryOptions = {},
): PointSymmetryLocated | NotLocated {
  return preparePointSymmetryCenter(sizeOf(image), options)(image);
}

/** {@link pointSymmetryCenter} made ready for many images of one size. */
export function preparePointSymmetryCenter(
  size: ImageSize,
  options: PointSymmetryOptions = {},
): PreparedEstimator<PointSymmetryLocated> {
  return prepareSymmetry(size, options, false);
}

/** @param isExpected  the images are expected ones, without noise: only the predicted error minds */
export function prepareSymmetry(
  size: ImageSize,
  options: PointSymmetryOptions,
  isExpected: boolean,
): PreparedEstimator<PointSymmetryLocated> {
  requireNames('options', options, recenterOptionNames, 'searchPx');
  const resolved = resolveOptions(size, options);
  const recenter = resolveRecenter(options);
  const searchPx = requireInteger('searchPx', options.searchPx ?? pointSymmetryDefaults.searchPx, 0, 100);
  const { hasNoise, minSnr } = resolved;
  const window = new StarWindow(resolved, leastPixels);
  const peak = new SymmetryPeak(window.list, resolved.size, searchPx, hasNoise, isExpected);

  return (image, guess, givenBackground): PointSymmetryLocated | NotLocated => {
    const lost = window.begin(image, guess, givenBackground);
    if (lost !== undefined) return lost;
    window.selectPixels(window.startX, window.startY);
    let refusal = window.refusal();
    if (refusal !== undefined) return refusal;
    const rough = window.roughStar();
    if (rough === undefined) return notLocated('no-flux');
    const roughSigmaPx = rough.sigmaPx;
    let x = Number.isNaN(window.startX) ? rough.x : window.startX;
    let y = Number.isNaN(window.startY) ? rough.y : window.startY;
    for (let passes = 0; ; passes++) {
      const end = peak.find(x, y);
      if (end !== undefined) return notLocated(end);
      const moved2 = (peak.x - x) ** 2 + (peak.y - y) ** 2;
      x = peak.x;
      y = peak.y;
      if (!window.holds(x, y)) return notLocated('outside');
      if (!peak.isBeyond && (moved2 < nearPx * nearPx || passes >= recenter)) break;
      if (passes >= recenter) return notLocated('not-converged');
      window.selectPixels(x, y);
      refusal = window.refusal();
      if (refusal !== undefined) return refusal;
    }
    const inWindow = peak.sumLight(Infinity);
    const stands = !hasNoise || snrOf(inWindow, window.background.sigma) >= minSnr;
    const star = stands ? inWindow : peak.sumLight(Math.max(leastDiscPx, discPerSigma * roughSigmaPx));
    const { light, paired } = star;
    if (!(light > 0)) return notLocated('no-flux');
    if (paired < leastPairedShare * light) return notLocated('clipped');
    const found = { ok: true, x, y, flux: light, iterations: peak.iterations } as const;
    if (!hasNoise) return found;

    const snr = snrOf(star, window.background.sigma);
    if (!(snr >= minSnr)) return notLocated('too-faint');
    const errors = peak.errors();
    if (errors === undefined) return notLocated('not-converged');
    return { ...found, ...errors, snr, reducedChiSquare: peak.difference / 2 };
  };
}

/**
 * Radius of the disc about a Gaussian star in which its light stands out most of the noise of empty pixels,
 * in rms widths.
 */
const discPerSigma = 1.585;

/** Least radius, px: the pixel of the center and the eight around it. */
const leastDiscPx = 1.5;

const snrOf = ({ light, variance, pixels }: StarLight, levelSigma: number): number =>
  light / Math.sqrt(variance + (pixels * levelSigma) ** 2);
