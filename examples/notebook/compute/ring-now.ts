/** The first question: one star, one ring. The limit is the rig's alone; the verdict follows the ring. */
import type { Assessment, FocusLimit, LimitedBy, Rig, StarAdvice } from '@holdfast/sim';
import { settled } from '../book.ts';
import type { Team } from '../work/crew.ts';
import { liveSeed } from './cell-of.ts';
import { rigOfStar, umPerRingPx } from './derived.ts';
import type { LimitRange } from './formula-limits.ts';
import { firstLookMs, roundsTo, wantedOf } from './rounds.ts';

export interface LimitNow {
  /** Ring diameter, px. */
  readonly px: LimitRange;
  readonly umPerPx: number;
  /** Absent from the first answer. */
  readonly limitedBy?: LimitedBy;
  readonly found?: FocusLimit;
  /** Simulated frames at each ring that was tried; 0: by formula. */
  readonly trials: number;
  readonly isDone: boolean;
}

export async function* limitNow(
  rig: Rig,
  most: number,
  team: Team,
  signal: AbortSignal,
): AsyncGenerator<LimitNow> {
  const umPerPx = umPerRingPx(rig);
  const byFormula = await team.runFirst(signal, 'formulaLimit', rigOfStar(rig));
  yield { px: byFormula.ringDiameterPx, umPerPx, trials: 0, isDone: false };
  await settled(signal, firstLookMs);
  const rounds = roundsTo(most);
  for (const trials of wantedOf(rounds)) {
    const found = await team.run(signal, 'focusLimit', rigOfStar(rig), {}, { seed: liveSeed, trials });
    const isDone = trials === rounds[rounds.length - 1];
    yield { px: found.ringDiameterPx, umPerPx, limitedBy: found.limitedBy, found, trials, isDone };
  }
}

export interface StarNow {
  readonly px: number;
  readonly assessment: Assessment;
  /** Absent from the first answer. */
  readonly advice?: StarAdvice;
}

export async function* starNow(
  rig: Rig,
  px: number,
  most: number,
  team: Team,
  signal: AbortSignal,
): AsyncGenerator<StarNow> {
  const setting = { focusShiftUm: px * umPerRingPx(rig) };
  yield { px, assessment: await team.runFirst(signal, 'firstAssessment', rig, setting, liveSeed) };
  await settled(signal, firstLookMs);
  for (const trials of wantedOf(roundsTo(most))) {
    const advice = await team.run(signal, 'adviseStar', rigOfStar(rig), setting, { seed: liveSeed, trials });
    yield { px, assessment: advice.assessment, advice };
  }
}
