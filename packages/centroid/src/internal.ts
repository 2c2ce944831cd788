/** What the sister packages need besides the front door. No promise of stability. */
export { thresholdedDefaults } from './moments/thresholded.ts';
export { leastWeightFwhmPx } from './moments/weighted.ts';
export { emptyVariance } from './pixels/estimator-options.ts';
export { absurdE, type LightView, lightAt, lightView } from './pixels/image-view.ts';
export { createPixelList, type PixelList } from './pixels/valid-pixels.ts';
export { type SumImage, setSumImage } from './pixels/window-sums.ts';
export type { Candidate } from './search/box-contrast.ts';
export { putBack, queueOf } from './search/candidate-queue.ts';
export { discLight } from './search/disc-light.ts';
export { type FrameLight, frameLight } from './search/frame-light.ts';
export { eraseLight, extentOf, type LightExtent, measureExtent } from './search/light-extent.ts';
export {
  requireSearch,
  type SearchSettings,
  type StarLight,
  searchStars,
  snrOf,
  starLight,
  starsOf,
  takeLights,
} from './search/locate-star.ts';
export { type RemovedLight, restoreLight } from './search/removed-light.ts';
export { boxSides, findContrasts } from './search/star-scales.ts';
export { sampleTemplate } from './template/star-template.ts';
export {
  createTemplateValues,
  fillTemplate,
  type TemplateTable,
  type TemplateValues,
  tabulateTemplate,
} from './template/template-table.ts';
