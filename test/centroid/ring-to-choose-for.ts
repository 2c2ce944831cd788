/** Rings and a camera that an estimator is chosen for. */
import { renderStar, type StarShape } from '@holdfast/psf';

export const camera = { readNoiseE: 1.5, backgroundE: 12 };
export const annulus = (outerDiameterPx: number): StarShape => ({
  kind: 'annulus',
  outerDiameterPx,
  obstructionRatio: 0.35,
  blurFwhmPx: 2.5,
});
/** A ring as it is expected, a quarter of a pixel off the middle of one. */
export const star = (outerDiameterPx: number, flux: number) => {
  const side = outerDiameterPx + 23;
  const at = { x: (side - 1) / 2 + 0.25, y: (side - 1) / 2 + 0.15 };
  return { expected: renderStar(annulus(outerDiameterPx), { width: side, height: side, ...at, flux }), at };
};
