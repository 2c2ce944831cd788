/**
 * One way to draw every star: `renderStar` for a single image, `prepareStar` for many of the same shape.
 * To add a shape: a file of its own with an interface and `prepare...` function, and one line in each list here.
 */
import { type AnnulusShape, prepareAnnulus } from './annulus.ts';
import { type ComaShape, prepareComa } from './coma.ts';
import { type DiffractionShape, prepareDiffraction } from './diffraction.ts';
import { type GaussianShape, prepareGaussian } from './gaussian.ts';
import {
  createImage,
  type Image,
  imageHeight,
  imageWidth,
  isContiguous,
  maxImageSide,
  storePixels,
} from './image.ts';
import { type MoffatShape, prepareMoffat } from './moffat.ts';
import { prepareRays, type RayShape } from './ray-spot.ts';
import { requireFinite, requireInteger, requireNonNegative, requireOneOf } from './require.ts';
import { prepareStarGroup, type StarGroupShape } from './star-group.ts';
import type { ShapePlan, StampSize } from './star-plan.ts';
import { prepareTrailed, type TrailedShape } from './trailed.ts';

/** The light of one star, told apart by `kind`. Lengths in px, angles in degrees from +x towards +y. */
export type StarShape =
  | GaussianShape
  | MoffatShape
  | AnnulusShape
  | ComaShape
  | DiffractionShape
  | RayShape
  | TrailedShape
  | StarGroupShape;

const kinds = ['gaussian', 'moffat', 'annulus', 'coma', 'diffraction', 'rays', 'trailed', 'group'] as const;

/** A stamp with a star at (x, y); pixel centres are whole numbers from 0. */
export interface RenderOptions extends StampSize {
  /** Column of the star, px. */
  readonly x: number;
  /** Row of the star, px. */
  readonly y: number;
  /** Electrons of the star over the whole plane. */
  readonly flux: number;
}

/** A star shape made ready to be drawn many times without allocation. */
export interface StarPlan extends StampSize {
  /**
   * Overwrite `out` with the star's expected electrons per pixel.
   *
   * @param out  image of the plan's size (any stride), or its row-major pixels
   * @returns the fraction of the star's light that the stamp holds, 0 to 1, also for a flux of 0
   * @throws RangeError if `out` has another size, x or y is not finite, or flux is negative
   */
  renderInto(out: Image | Float64Array, x: number, y: number, flux: number): number;
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
export function prepareStar(shape: StarShape, { width, height }: StampSize): StarPlan {
  requireInteger('width', width, 1, maxImageSide);
  requireInteger('height', height, 1, maxImageSide);
  const plan = prepareShape(shape, { width, height });
  // Made on the first call that needs it: most callers pass pixels that can be drawn into directly.
  let scratch: Float64Array | undefined;
  return {
    width,
    height,
    renderInto(out, x, y, flux) {
      requireFinite('x', x);
      requireFinite('y', y);
      requireNonNegative('flux', flux);
      let pixels = targetPixels(out, width, height);
      if (pixels === undefined) {
        scratch ??= new Float64Array(width * height);
        pixels = scratch;
      }
      // The shape of a star without light is drawn as well, to tell what the stamp would hold of it.
      const drawn = flux > 0 ? flux : 1;
      plan.renderInto(pixels, x, y, drawn);
      let sum = 0;
      for (let k = 0; k < pixels.length; k++) sum += pixels[k];
      if (flux === 0) pixels.fill(0);
      if (pixels === scratch) storePixels(out as Image, pixels);
      return Math.min(1, sum / drawn);
    },
  };
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
export function renderStar(shape: StarShape, { width, height, x, y, flux }: RenderOptions): Image {
  const out = createImage(width, height);
  prepareStar(shape, { width, height }).renderInto(out, x, y, flux);
  return out;
}

function prepareShape(shape: StarShape, size: StampSize): ShapePlan {
  requireOneOf('shape.kind', shape?.kind, kinds);
  switch (shape.kind) {
    case 'gaussian':
      return prepareGaussian(shape, size);
    case 'moffat':
      return prepareMoffat(shape, size);
    case 'annulus':
      return prepareAnnulus(shape, size);
    case 'coma':
      return prepareComa(shape, size);
    case 'diffraction':
      return prepareDiffraction(shape, size);
    case 'rays':
      return prepareRays(shape, size);
    case 'trailed':
      return prepareTrailed(shape, size, prepareShape);
    case 'group':
      return prepareStarGroup(shape, size, prepareShape);
  }
}

/** The array to draw into directly, or undefined when `out` is a view with strides of its own. */
function targetPixels(out: Image | Float64Array, width: number, height: number): Float64Array | undefined {
  if (out instanceof Float64Array) {
    if (out.length !== width * height)
      throw new RangeError(`out must have width * height = ${width * height} values, got ${out.length}`);
    return out;
  }
  if (imageWidth(out) !== width || imageHeight(out) !== height)
    throw new RangeError(
      `out must be ${width} x ${height} px, got ${imageWidth(out)} x ${imageHeight(out)} px`,
    );
  return isContiguous(out) ? out.data : undefined;
}
