/** A picture of one star as a fit needs it: its pixels, their slopes, and what the fit must know of it. */

/** What a descent asks of the picture at some unknowns. */
export interface PictureTraits {
  /** Electrons per pixel beside the star, and of the star where it is evenly lit. */
  readonly background: number;
  readonly level: number;
  /** FWHM of the blur, px. */
  readonly blurPx: number;
  /** Lit area before the blur, px^2. */
  readonly areaPx2: number;
  /** The larger of radius and blur, px. */
  readonly reachPx: number;
  /** Whether it is narrower than its blur. */
  readonly isPoint: boolean;
}

export interface PictureModel {
  /** Overwrite `out` with the model's electrons per pixel. */
  valuesInto(out: Float64Array, unknowns: Float64Array): void;
  /** The same, and overwrite `slopes[k]` with the derivative by unknown k. */
  slopesInto(out: Float64Array, slopes: readonly Float64Array[], unknowns: Float64Array): void;
  traits(unknowns: Float64Array): PictureTraits;
  /** Limits within which the model can be drawn. */
  readonly lower: Float64Array;
  readonly upper: Float64Array;
  /** Which unknowns are lengths in px, and which are electrons. */
  readonly lengths: readonly number[];
  readonly lights: readonly number[];
}
