/**
 * From the error of a position to the picture: what it costs there, beside moving air and the loop that follows it.
 *
 * budget                 position error -> growth and shape of the stars in the picture, term by term
 * budget-share           how much of the budget an error spends, and on what
 * chased-air             what the loop adds by following moving air
 * image-motion           motion of the star by moving air, exposure by exposure
 * image-motion-spectrum  its power spectrum
 */
export {
  type AxisRms,
  type BlurTerm,
  type ImageAxes,
  type ImageGrowth,
  imageGrowth,
  loopNoiseFactor,
  rmsWithinBudgetArcsec,
} from './budget.ts';
export type { BudgetTerm } from './budget-share.ts';
