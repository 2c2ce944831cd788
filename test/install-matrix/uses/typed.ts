import { type GaussianFitOptions, gaussianFit, prepareGuideStar } from '@holdfast/centroid';
import { estimatorPromises } from '@holdfast/centroid/contract';
import { renderStar, type StarShape } from '@holdfast/psf';
import {
  adviseRefocus,
  buildScene,
  compareEstimators,
  type OwnEstimator,
  parseRig,
  sweep,
} from '@holdfast/sim';
import { sweepWorkers } from '@holdfast/sim/workers';

export const shape: StarShape = { kind: 'gaussian', fwhmPx: 3 };
export const options: GaussianFitOptions = { shape: 'elliptical' };
export const found = gaussianFit(
  renderStar(shape, { width: 21, height: 19, x: 9, y: 8, flux: 900 }),
  options,
);
// @ts-expect-error: a type that was not found would be `any` and take this
export const wrong: GaussianFitOptions = { shape: 'square' };
export const own: OwnEstimator = { name: 'own', prepare: () => () => ({ ok: false, reason: 'no-flux' }) };
const rig = parseRig({});
export const errors = compareEstimators(buildScene(rig, { focusShiftUm: 1 }), { estimators: [own], seed: 1 });
export const name: string = errors[0].estimator;
// @ts-expect-error: a list of ours gives their names alone
export const never: 'x' = compareEstimators(buildScene(rig, { focusShiftUm: 1 }), {
  estimators: ['gaussianFit'],
  seed: 1,
})[0].estimator;
export const advice = adviseRefocus(rig, { seed: 1 });
export const rows = sweep(rig, { seed: 1, axes: { estimator: [own] }, runner: sweepWorkers() });
export const star = prepareGuideStar({
  size: { width: 9, height: 9 },
  windowPx: 7,
  noise: { readNoiseE: 1 },
});
export const promises = estimatorPromises(own, { accuracyPx: 0.1 });
