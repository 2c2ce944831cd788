/** What each assumption of a started rig is worth: how far it moves the focus limit. */
import { log } from '@holdfast/psf/numerics';
import { budgetShare, measuredOf } from '../budget/budget-share.ts';
import { type LongWorkOptions, pause, resultUntil } from '../long-work.ts';
import type { Rig } from '../rig/rig-schema.ts';
import { type RigAssumption, type SeenRig, type StartedRig, startRig } from '../rig/start-rig.ts';
import { measureInSteps } from '../trials/measure-error.ts';
import { buildScene } from '../trials/scene.ts';
import type { Interval } from '../trials/statistics.ts';
import { type FocusLimit, focusLimit } from './focus-limit.ts';

/** A share that is spent many times over, or hardly at all, says no more than that. */
const bounded = (share: number): number => Math.min(20, Math.max(0.05, share));

/** Enough to tell what matters from what does not: all rigs see the same random numbers. */
const sortingTrials = 64;

/** Seed and precision of the comparison. */
export interface AssumptionEffectOptions extends LongWorkOptions {
  /** Seed of the simulation. */
  readonly seed: string | number;
  /** Simulated frames per number. Default 256. */
  readonly trials?: number;
  /** How many assumptions are looked at closely: those that matter most. Default 3. */
  readonly most?: number;
}

/** An assumption, and the focus limit were it one of the two other usual values. */
export interface AssumptionEffect {
  /** The assumption. */
  readonly assumption: RigAssumption;
  /** In the order of `others`: outer diameter of the ring at the limit, px, with 95 % interval. */
  readonly limitsPx: readonly [Interval, Interval];
}

/**
 * The assumptions that move the focus limit most, the largest first. All are sorted by how far they change
 * the spent share of the budget at the limit. The limit itself is simulated again for one more than are told.
 *
 * @param limit  the focus limit of the started rig
 * @throws the signal's reason when canceled
 */
export async function assumptionEffects(
  seen: SeenRig,
  { assumptions, absFocusShiftUm }: StartedRig,
  limit: FocusLimit,
  { seed, trials = 256, most = 3, onProgress, signal }: AssumptionEffectOptions,
): Promise<AssumptionEffect[]> {
  const varied = assumptions.flatMap((assumption) =>
    assumption.others === undefined ? [] : [{ assumption, others: assumption.others }],
  );
  const simulated = Math.min(most + 1, varied.length);
  const total = varied.length + 2 * simulated;
  let done = 0;
  const step = async (assumption: RigAssumption) => {
    onProgress?.({ task: `assumption: ${assumption.label}`, done: ++done, total });
    await pause(signal);
  };
  const withValue = ({ field }: RigAssumption, value: number | string) =>
    startRig({ ...seen, known: { ...seen.known, [field]: value } }).rig;
  const focusShiftUm = limit.limitUm.value > 0 ? limit.limitUm.value : absFocusShiftUm;
  const shareOf = async (other: Rig): Promise<number> => {
    const scene = buildScene(other, { focusShiftUm });
    const { estimator } = other.tracking;
    const error = await resultUntil(
      measureInSteps(scene, { estimator, seed, trials: sortingTrials }),
      signal,
    );
    return budgetShare(other, measuredOf(error, scene.arcsecPerPx)).share;
  };
  const sorted: {
    assumption: RigAssumption;
    others: readonly [number | string, number | string];
    moves: number;
  }[] = [];
  for (const { assumption, others } of varied) {
    await step(assumption);
    const low = await shareOf(withValue(assumption, others[0]));
    const high = await shareOf(withValue(assumption, others[1]));
    sorted.push({ assumption, others, moves: Math.abs(log(bounded(high) / bounded(low))) });
  }
  sorted.sort((a, b) => b.moves - a.moves);
  const effects: AssumptionEffect[] = [];
  for (const { assumption, others } of sorted.slice(0, simulated)) {
    const limits: Interval[] = [];
    for (const value of others) {
      await step(assumption);
      const other = await focusLimit(withValue(assumption, value), {
        seed,
        trials,
        ...(signal ? { signal } : {}),
      });
      limits.push(other.ringDiameterPx);
    }
    effects.push({ assumption, limitsPx: [limits[0], limits[1]] });
  }
  const width = ({ limitsPx: [a, b] }: AssumptionEffect) => Math.abs(a.value - b.value);
  return effects.sort((a, b) => width(b) - width(a)).slice(0, most);
}
