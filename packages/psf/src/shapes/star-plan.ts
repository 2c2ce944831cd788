/** What each star shape makes of itself: the work that does not depend on position and flux, done once. */
import { type Image, imageHeight, imageWidth, isContiguous, storePixels } from '../image/image.ts';
import { requireFinite, requireNonNegative } from '../numerics/require.ts';

/** Sides of a stamp, px. */
export interface ImageSize {
  /** Columns, px, >= 1. */
  readonly width: number;
  /** Rows, px, >= 1. */
  readonly height: number;
}

/**
 * A star shape made ready for one stamp size. It holds its own scratch: one plan serves one caller at a time.
 */
export interface ShapePlan {
  /**
   * Overwrite `out` (row-major, width * height) with the star's expected electrons in each pixel, integrated
   * over the pixel, for a star of `flux` electrons in the whole plane centered on (x, y). Allocates nothing.
   */
  renderInto(out: Float64Array, x: number, y: number, flux: number): void;
  /**
   * All light that is drawn over `flux`: above 1 where the flux is that of one star among others. Default 1.
   */
  readonly relativeFlux?: number;
}

/** A star shape made ready to be drawn many times without allocation. */
export interface StarPlan extends ImageSize {
  /**
   * Overwrite `out` with the star's expected electrons per pixel.
   *
   * @param out  image of the plan's size (any stride), or its row-major pixels
   * @returns the fraction of the light that the stamp holds, 0 to 1, also for a flux of 0; of a group of
   *          stars that of the light of all of them
   * @throws RangeError if `out` has another size, x or y is not finite, or flux is negative
   */
  renderInto(out: Image | Float64Array, x: number, y: number, flux: number): number;
}

/**
 * A shape's plan with its calls checked, for images of any stride, and with the fraction of the light that
 * was drawn.
 */
export function starPlan(plan: ShapePlan, { width, height }: ImageSize): StarPlan {
  const { relativeFlux = 1 } = plan;
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
      return Math.min(1, sum / (drawn * relativeFlux));
    },
  };
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
