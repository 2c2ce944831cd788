/**
 * A goal that is a time, as a reference: always as fast as asked for, so that the ratio tells how far from
 * the goal we are.
 */
import type { Reference } from './row.ts';

export const timeGoal = (seconds: number): Reference => ({
  label: `the goal: ${seconds} s`,
  goal: 1,
  start: () => ({ run: (count) => count * seconds }),
});
