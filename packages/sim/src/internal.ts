/** What the examples and tests need besides the front door. No promise of stability. */

export { pictureMoves } from './advice/filter-change.ts';
export { smallestTrims } from './advice/trim.ts';
export { trimKinds } from './advice/variation.ts';
export { guideErrorOf, noError, noiseWithinBudgetArcsec } from './budget/budget.ts';
export { type BudgetShare, budgetShare, measuredOf } from './budget/budget-share.ts';
export { farOutside } from './focus/focus-curve.ts';
export { formulaLimits } from './focus/formula-limit.ts';
export { fitsNumber, fitsText } from './frame/files/fits/fits-header.ts';
export { searchOneSize } from './frame/search/one-size-search.ts';
export { focuserPoint } from './frame/sequence/focuser-calibration.ts';
export { starToJudge } from './frame/stars/star-to-judge.ts';
export { resultOf, resultUntil, yieldBy } from './long-work.ts';
export { airInLoop, type ChasedAirOptions, chasedAirArcsec, sharedAir } from './motion/chased-air.ts';
export { loopEffect } from './motion/guide-loop.ts';
export { decisionText, percent, significant, withError } from './number-text.ts';
export { guideStarOddsOf } from './odds/guide-star-odds.ts';
export { type EdgeLight, edgeLight, flankLight } from './pickoff/edge-light.ts';
export { pickoffTradeOffInSteps } from './pickoff/pickoff-trade-off.ts';
export { withCode, withoutCode } from './sweep/own-by-name.ts';
export { runCell, runCellUntil } from './sweep/sweep-cell.ts';
export { sceneAxisNames } from './sweep/sweep-grid.ts';
export { damagedText } from './sweep/sweep-record.ts';
export { analyticErrorPx } from './trials/analytic-error.ts';
export { estimatorLabels, prepareEstimator, settingLabel } from './trials/estimators.ts';
export { leastError } from './trials/least-error.ts';
export { fractionOf, intervalOf, meanOf, rmsPerAxis, scatterOf } from './trials/statistics.ts';
