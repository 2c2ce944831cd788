/**
 * One way to draw every star: `renderStar` for a single image, `prepareStar` for many of the same shape. To
 * add a shape: a file of its own with an interface and `prepare...` function, and one line in the list here
 * and in star-shape.ts.
 */

import { prepareDiffraction } from '../diffraction/diffraction.ts';
import { createImage, type Image, maxImageSide } from '../image/image.ts';
import { requireNames } from '../numerics/options.ts';
import { requireInteger, requireObject, requireOneOf } from '../numerics/require.ts';
import { prepareAnnulus } from './annulus.ts';
import { prepareComa } from './coma.ts';
import { prepareGaussian } from './gaussian.ts';
import { prepareMoffat } from './moffat.ts';
import { prepareOwnShape } from './own-shape.ts';
import { prepareRays } from './ray-spot.ts';
import { prepareStarGroup } from './star-group.ts';
import { type ImageSize, type ShapePlan, type StarPlan, starPlan } from './star-plan.ts';
import type { StarShape } from './star-shape.ts';
import { prepareTable } from './table.ts';
import { prepareTrailed } from './trailed.ts';

/** A stamp with a star at (x, y); pixel centers are whole numbers from 0. */
export interface RenderOptions extends ImageSize {
  /** Column of the star, px. */
  readonly x: number;
  /** Row of the star, px. */
  readonly y: number;
  /** Electrons of the star over the whole plane. */
  readonly flux: number;
}

/**
 * Make a star shape ready for stamps of one size.
 *
 * ```ts
 * const plan = prepareStar({ kind: 'annulus', outerDiameterPx: 12, obstructionRatio: 0.4, blurFwhmPx: 2.5 }, { width: 32, height: 32 })
 * const stamp = new Float64Array(32 * 32)
 * const heldFraction = plan.renderInto(stamp, 15.3, 16.1, 5000)
 * ```
 * @throws RangeError or TypeError naming the field of the shape that is out of range
 */
export function prepareStar(shape: StarShape, size: ImageSize): StarPlan {
  const { width, height } = requireObject('size', size);
  requireInteger('width', width, 1, maxImageSide);
  requireInteger('height', height, 1, maxImageSide);
  return starPlan(prepareShape(shape, { width, height }), { width, height });
}

/**
 * Expected electrons of one star in each pixel of a stamp, integrated over the pixel.
 *
 * ```ts
 * const star = renderStar({ kind: 'gaussian', fwhmPx: 3 }, { width: 21, height: 17, x: 10.2, y: 8.7, flux: 1000 })
 * ```
 * @returns a new image of shape [height, width]; light outside the stamp is not folded back in
 * @throws RangeError or TypeError naming what is out of range
 */
export function renderStar(shape: StarShape, options: RenderOptions): Image {
  const { width, height, x, y, flux } = requireNames('options', options, 'width height x y flux');
  const out = createImage(width, height);
  prepareStar(shape, { width, height }).renderInto(out, x, y, flux);
  return out;
}

/** Each kind of shape and what makes it ready. */
const prepareKind: {
  readonly [Kind in StarShape['kind']]: (
    shape: Extract<StarShape, { readonly kind: Kind }>,
    size: ImageSize,
  ) => ShapePlan;
} = {
  gaussian: prepareGaussian,
  moffat: prepareMoffat,
  annulus: prepareAnnulus,
  coma: prepareComa,
  diffraction: prepareDiffraction,
  rays: prepareRays,
  table: prepareTable,
  own: prepareOwnShape,
  trailed: (shape, size) => prepareTrailed(shape, size, prepareShape),
  group: (shape, size) => prepareStarGroup(shape, size, prepareShape),
};

function prepareShape(shape: StarShape, size: ImageSize): ShapePlan {
  const kind = requireOneOf('shape.kind', shape?.kind, Object.keys(prepareKind) as StarShape['kind'][]);
  return prepareKind[kind](shape as never, size);
}
