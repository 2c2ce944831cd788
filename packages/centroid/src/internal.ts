/** What the sister packages need besides the front door. No promise of stability. */
export { thresholdedDefaults } from './moments/thresholded.ts';
export { leastWeightFwhmPx } from './moments/weighted.ts';
export { emptyVariance } from './pixels/estimator-options.ts';
export { absurdE, type LightView, lightAt, lightView } from './pixels/image-view.ts';
export { type SumImage, setSumImage } from './pixels/window-sums.ts';
export type { RejectReason } from './search/common-shape.ts';
export { type RejectedLight, type StarSearch, searchStars } from './search/locate-star.ts';
