/** What each star shape makes of itself: the work that does not depend on position and flux, done once. */

/** Sides of a stamp, px. */
export interface StampSize {
  readonly width: number;
  readonly height: number;
}

/** A star shape made ready for one stamp size. It holds its own scratch: one plan serves one caller at a time. */
export interface ShapePlan {
  /**
   * Overwrite `out` (row-major, width * height) with the star's expected electrons in each pixel, integrated over the
   * pixel, for a star of `flux` electrons in the whole plane centred on (x, y). Allocates nothing.
   */
  renderInto(out: Float64Array, x: number, y: number, flux: number): void;
}
