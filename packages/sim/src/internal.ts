/** What the examples and tests need besides the front door. No promise of stability. */
export { smallestTrims, trimKinds } from './advice/trim.ts';
export { fitsNumber, fitsText } from './frame/files/fits/fits-header.ts';
export { focuserPoint } from './frame/sequence/focuser-calibration.ts';
export { percent, significant, withError } from './number-text.ts';
export { guideStarOddsOf } from './odds/guide-star-odds.ts';
export { runCell } from './sweep/sweep-cell.ts';
export { sceneAxisNames } from './sweep/sweep-grid.ts';
export { damagedText } from './sweep/sweep-record.ts';
export { analyticErrorPx } from './trials/analytic-error.ts';
export { estimatorLabels, prepareEstimator } from './trials/estimators.ts';
export { leastError } from './trials/least-error.ts';
export { fractionOf, intervalOf, meanOf, rmsPerAxis, scatterOf } from './trials/statistics.ts';
