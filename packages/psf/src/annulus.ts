import type { ShapePlan, StampSize } from './star-plan.ts';

/** The ring of an out-of-focus star: a uniform annulus blurred by a Gaussian. */
export interface AnnulusShape {
  readonly kind: 'annulus';
  /** Outer diameter of the geometric ring before blur, px; 0 at focus. */
  readonly outerDiameterPx: number;
  /** Inner over outer diameter (the linear central obstruction), in [0, 1). */
  readonly obstructionRatio: number;
  /** FWHM of the Gaussian blur (seeing, guiding, optics), px; 0 for none. */
  readonly blurFwhmPx: number;
}

export function prepareAnnulus(_shape: AnnulusShape, _size: StampSize): ShapePlan {
  throw new Error('to be written');
}
