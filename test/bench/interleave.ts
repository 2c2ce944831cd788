/**
 * Speeds of several sides measured in short slices by turns, so that whatever else the machine does falls on
 * all alike. The ratio is taken within each turn, of neighbors in time; its median and quartiles over the
 * turns are the result.
 */
import { type Calibration, calibrate } from './calibration.ts';
import type { Side } from './row.ts';
import { type Spread, spreadOf } from './spread.ts';

export interface Interleaved {
  /** Units a second of each side. */
  readonly speeds: readonly Spread[];
  /** Speed of the first side over that of each: the first is 1. */
  readonly ratios: readonly Spread[];
  readonly repeats: number;
  /** Units a second of each side, turn by turn. */
  readonly turns: readonly (readonly number[])[];
  /** Whether the machine was idle before the first turn and after each. */
  readonly calibrations: readonly Calibration[];
}

/**
 * Sides whose least unit takes long get fewer turns than asked for, but not fewer than `leastTurns`: a row
 * ends in this time, s.
 */
const longestS = 20;
const leastTurns = 3;

/** Before a side is measured it runs this long, so that a compiler at run time has done its work, s. */
const warmUpS = 0.6;

export async function interleave(
  sides: readonly Side[],
  { sliceS, repeats }: { readonly sliceS: number; readonly repeats: number },
): Promise<Interleaved> {
  const counts: number[] = [];
  let turnS = 0;
  for (const side of sides) {
    const { count, seconds } = await countOf(side, sliceS);
    counts.push(count);
    turnS += seconds;
  }
  const turns = Math.max(leastTurns, Math.min(repeats, Math.floor(longestS / turnS)));
  const speeds: number[][] = sides.map(() => []);
  const calibrations = [calibrate()];
  for (let turn = 0; turn < turns; turn++) {
    // There and back again: a load that rises or falls steadily favors no side.
    const order = sides.map((_, i) => (turn % 2 === 0 ? i : sides.length - 1 - i));
    for (const i of order) speeds[i].push(counts[i] / (await sides[i].run(counts[i])));
    calibrations.push(calibrate());
  }
  return {
    speeds: speeds.map(spreadOf),
    ratios: speeds.map((each) => spreadOf(each.map((speed, turn) => speeds[0][turn] / speed))),
    repeats: turns,
    turns: speeds,
    calibrations,
  };
}

/** Units that fill a slice, and how long they took. Runs the side until it is warm. */
async function countOf(side: Side, sliceS: number): Promise<{ count: number; seconds: number }> {
  const end = performance.now() + 1000 * Math.max(warmUpS, 2 * sliceS);
  let count = 1;
  let seconds = await side.run(count);
  while (performance.now() < end) {
    count = Math.max(1, Math.min(10 * count, Math.round((count * sliceS) / Math.max(seconds, 1e-9))));
    seconds = await side.run(count);
  }
  const perUnit = seconds / count;
  const fitting = Math.max(1, Math.round(sliceS / perUnit));
  return { count: fitting, seconds: fitting * perUnit };
}
