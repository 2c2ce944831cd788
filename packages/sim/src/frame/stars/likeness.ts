/** What a measured star looks like, as it can be drawn: its ring, or a Gaussian. */
import type { GaussianLocated, NotLocated } from '@holdfast/centroid';
import type { AnnulusShape, GaussianShape } from '@holdfast/psf';
import type { RingFit } from '../rings/ring-fit.ts';

/** A star shape that is like the measured star. */
export type Likeness = AnnulusShape | GaussianShape;

/** Undefined when no ring was found. */
export function ringLikeness(ring: RingFit): AnnulusShape | undefined {
  if (!ring.ok) return undefined;
  return {
    kind: 'annulus',
    outerDiameterPx: ring.outerDiameterPx.value,
    obstructionRatio: ring.obstructionRatio.value,
    blurFwhmPx: ring.blurFwhmPx.value,
  };
}

/** Undefined when no Gaussian was fitted. */
export function gaussianLikeness(fit: GaussianLocated | NotLocated): GaussianShape | undefined {
  return fit.ok ? { kind: 'gaussian', fwhmPx: fit.fwhmPx } : undefined;
}
