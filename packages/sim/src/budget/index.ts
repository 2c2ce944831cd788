/**
 * From the error of a position to the picture: what it costs there.
 *
 * budget        position error -> growth and shape of the stars in the picture, term by term
 * offset-drift  how far a clipped star walks within one picture
 * budget-share  how much of the budget an error spends, and on what
 */
export {
  type AxisError,
  type BlurTerm,
  type GuideError,
  type ImageAxes,
  type ImageGrowth,
  imageGrowth,
  noiseWithinBudgetArcsec,
} from './budget.ts';
export type { BudgetTerm } from './budget-share.ts';
