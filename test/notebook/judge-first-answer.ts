/** Whether the range of the page's first answer holds the limit that many frames give. */
import type { Rig } from '@holdfast/sim';
import { type LimitRange, roughLimit, shareOf } from '../../examples/notebook/compute/first-answer.ts';

export interface Judged extends LimitRange {
  readonly isHeld: boolean;
}

/** Four times the frames of the first answer, with another seed. */
const manyFrames = 256;

export function judgeFirstAnswer(rig: Rig): Judged {
  const { value, low, high } = roughLimit(rig, 'few');
  // The limit of many frames lies between two rings when the budget is spent at the outer and not at the
  // inner one.
  const shareAt = (ringPx: number) => shareOf(rig, ringPx, 'many', manyFrames).share;
  const isHeld =
    high === 0 ? shareAt(0) > 1 : (low === 0 || shareAt(low) <= 1) && (low === high || shareAt(high) >= 1);
  return { value, low, high, isHeld };
}

/** A range as wide as its number would hold everything and say nothing. */
export const isNarrow = ({ value, low, high }: LimitRange): boolean => high - low <= Math.max(5, 0.8 * value);
