/** A star of your own in place of the one that the rig's optics draw. */
import { prepareStar, type StarShape } from '@holdfast/psf';
import { requireNames, requireObject, requireText } from '@holdfast/psf/numerics';
import { requireOwnName } from './own-estimator.ts';
import { type BeamSetting, lightOf, type SceneShape } from './scene-shape.ts';

/** What an own star may depend on. */
export interface OwnStarView {
  /** Distance of the guide sensor beyond best focus, um. */
  readonly focusShiftUm: number;
  /** Linear central obstruction. */
  readonly obstructionRatio: number;
  /** FWHM by the air alone, arcsec. */
  readonly seeingFwhmArcsec: number;
  /** Plate scale, arcsec per (binned) px. */
  readonly arcsecPerPx: number;
  /** Side of a (binned) pixel, um. */
  readonly pixelUm: number;
}

/** A star of your own that changes with focus. */
export interface OwnStar {
  /** Letters, digits and hyphens. Results name it; the same name must mean the same star. */
  readonly name: string;
  /** Its light at a setting, seeing included: nothing is added to it. */
  shapeAt(view: OwnStarView): StarShape;
  /** Address of a module whose default export is this star: workers load it from there. */
  readonly module?: string;
}

/** A shape is told by its kind, a star of your own by its name. */
export function isOwnStar(star: StarShape | OwnStar): star is OwnStar {
  return !('kind' in star);
}

/** How results name it. */
export function nameOfStar(star: StarShape | OwnStar): string {
  return isOwnStar(star) || star.kind === 'own' ? star.name : star.kind;
}

/** The star is drawn on ever larger stamps until one holds this much of its light. */
const leastHeld = 0.99;
const firstHalfPx = 16;
const mostHalfPx = 512;

/**
 * The light of an own star at a setting, with its middle and reach measured on its noiseless image.
 *
 * @throws RangeError when no stamp up to 1025 px holds 99 % of its light, TypeError for what is no star
 */
export function ownSceneShape(star: StarShape | OwnStar, beam: BeamSetting): SceneShape {
  const shape = shapeOf(star, beam);
  for (let half = firstHalfPx; half <= mostHalfPx; half *= 2) {
    const side = 2 * half + 1;
    const plan = prepareStar(shape, { width: side, height: side });
    const held = plan.renderInto(new Float64Array(side * side), half, half, 1);
    if (held < leastHeld) continue;
    const { halfLightPx, light } = lightOf(shape, half, half);
    return { shape, blurFwhmPx: 2 * halfLightPx, ...light };
  }
  throw new RangeError(
    `ownStar must give ${100 * leastHeld} % of its light within ${mostHalfPx} px of its middle`,
  );
}

function shapeOf(star: StarShape | OwnStar, beam: BeamSetting): StarShape {
  requireObject('ownStar', star);
  if (!isOwnStar(star)) return star;
  requireNames('ownStar', star, 'name shapeAt module');
  requireOwnName('ownStar', star.name);
  if (star.module !== undefined) requireText('ownStar.module', star.module);
  if (typeof star.shapeAt !== 'function')
    throw new TypeError(`ownStar.shapeAt of '${star.name}' must be a function`);
  const { focusShiftUm, obstructionRatio, seeingFwhmArcsec, arcsecPerPx, pixelUm } = beam;
  return star.shapeAt({ focusShiftUm, obstructionRatio, seeingFwhmArcsec, arcsecPerPx, pixelUm });
}
