/** The report of the page: by formula at once, then by simulation with more and more frames. */
import {
  type CompleteAdvice,
  type EstimatorName,
  type FilterAdvice,
  type RefocusAdvice,
  type Rig,
  type SweepCell,
  type SweepRow,
  sweepCells,
  version,
} from '@holdfast/sim';
import { curveEstimators, curveShiftsUm, pictureShiftsUm } from '../../reports/make-report.ts';
import type { Report, StarPicture } from '../../reports/report.ts';
import { settled } from '../book.ts';
import type { Team } from '../work/crew.ts';
import { likelyStanding } from './formula-error.ts';
import { formulaLimit } from './formula-limits.ts';
import { filterGuess } from './formula-report.ts';

/** Curve and stars are left out while they are not ready: the ones before stay on the page. */
export interface LiveReport extends Omit<Report, 'curve' | 'stars'> {
  readonly curve?: Report['curve'];
  readonly stars?: Report['stars'];
  /** Advice with nothing left out, once it is there. */
  readonly whole?: CompleteAdvice;
  /** How far it is, for people. */
  readonly state: string;
  readonly isDone: boolean;
}

export const liveSeed = 'notebook';
/**
 * Simulated frames per star, round after round: a first look, then advice; the last is what the command line
 * takes.
 */
export const rounds = [64, 256, 1024] as const;

/** No frame is simulated while a control is being dragged. */
export const firstLookMs = 80;

export async function* liveReport(
  rig: Rig,
  team: Team,
  signal: AbortSignal,
): AsyncGenerator<LiveReport, void, unknown> {
  const advice = await adviceByFormula(rig, team, signal);
  let report: LiveReport = {
    rig,
    version,
    advice,
    state: 'By formula; the simulation begins.',
    isDone: false,
  };
  const updated = (change: Partial<LiveReport>): LiveReport => {
    report = { ...report, ...change };
    return report;
  };
  yield report;
  const looked = settled(signal, firstLookMs).then(() => firstLook(rig, advice, team, signal));
  const parts: Promise<Partial<LiveReport>>[] = [
    looked.then((first) => ({ advice: first, state: stateOf(0) })),
    curveByFormula(rig, curveShiftsUm(advice), team, signal).then((curve) => ({ curve })),
    looked.then(() => picturesOf(rig, advice, team, signal)).then((stars) => ({ stars })),
  ];
  yield* asTheyCome(parts, updated);
  warmUp(rig, team);
  let whole: Promise<CompleteAdvice> | undefined;
  for (const [round, trials] of rounds.entries()) {
    if (round === 0) continue;
    const next = await simulated(rig, report.advice, trials, team, signal);
    yield updated({ ...next, state: stateOf(round), isDone: round === rounds.length - 1 });
    if (whole !== undefined) continue;
    // The pictures go to twice the limit: once it is simulated, they stand where they will stay.
    yield updated({ stars: await picturesOf(rig, report.advice, team, signal) });
    whole = team.run(signal, 'advise', rig, { seed: liveSeed, trials });
    whole.catch(() => undefined);
  }
  if (whole !== undefined) yield updated({ whole: await whole });
}

let isWarm = false;

/**
 * The same formulas a few times more: code that a browser has run but once is slow, and the next rig's answer
 * is wanted within a frame or two. Once a page, when the first answer stands.
 */
function warmUp(rig: Rig, team: Team): void {
  if (isWarm) return;
  isWarm = true;
  const { signal } = new AbortController();
  // Each a hair different: the same question is answered once.
  for (let i = 1; i <= 12; i++) {
    const guideFocusShiftUm = rig.guideFocusShiftUm + 1e-6 * i;
    team.runFirst(signal, 'formulaAnswer', { ...rig, guideFocusShiftUm }).catch(() => undefined);
  }
}

/** Each part of a value as soon as it is there. */
async function* asTheyCome<Part, Value>(
  parts: readonly Promise<Part>[],
  updated: (part: Part) => Value,
): AsyncGenerator<Value, void, unknown> {
  const open = new Map(parts.map((part, i) => [i, part.then((value) => ({ i, value }))]));
  for (const part of open.values()) part.catch(() => undefined);
  while (open.size > 0) {
    const { i, value } = await Promise.race(open.values());
    open.delete(i);
    yield updated(value);
  }
}

function stateOf(round: number): string {
  const next = rounds[round + 1];
  return `Simulated: ${rounds[round]} frames per star${next === undefined ? '' : `; ${next} are on their way`}.`;
}

async function adviceByFormula(rig: Rig, team: Team, signal: AbortSignal): Promise<RefocusAdvice> {
  const { ownLimitUm, ...found } = await team.runFirst(signal, 'formulaAnswer', rig);
  return {
    rig: rig.name,
    estimator: rig.tracking.estimator,
    seed: liveSeed,
    trials: 0,
    ...found,
    limit: formulaLimit(rig, ownLimitUm),
    notModeled: [],
  };
}

/** A few frames at each filter: what they say has errors, and no outcome rests on it yet. */
async function firstLook(
  rig: Rig,
  advice: RefocusAdvice,
  team: Team,
  signal: AbortSignal,
): Promise<RefocusAdvice> {
  const [trials] = rounds;
  const shifts = advice.filters.map(({ focusShiftUm }) => focusShiftUm);
  const cells = cellsOf(rig, [...new Set(shifts)], [advice.estimator], trials);
  const rows = (await Promise.all(cells.map((cell) => team.runFirst(signal, 'cell', cell)))).flat();
  const filters = advice.filters.map(({ filter, focusShiftUm }): FilterAdvice => {
    const row = rows.find((each) => each.focusShiftUm === focusShiftUm) as SweepRow;
    return filterGuess(rig, filter, focusShiftUm, likelyStanding(rig, row, row));
  });
  return { ...advice, trials, filters };
}

async function simulated(
  rig: Rig,
  before: RefocusAdvice,
  trials: number,
  team: Team,
  signal: AbortSignal,
): Promise<Pick<Report, 'advice' | 'curve'>> {
  const options = { seed: liveSeed, trials };
  const [filters, limit, curve] = await Promise.all([
    Promise.all(
      before.filters.map(
        async ({ filter, focusShiftUm }): Promise<FilterAdvice> => ({
          filter,
          ...(await team.run(signal, 'adviseStar', rig, { focusShiftUm }, options)),
        }),
      ),
    ),
    team.run(signal, 'focusLimit', rig, {}, options),
    sweptRows(rig, curveShiftsUm(before), curveEstimators(rig), Math.ceil(trials / 4), team, signal),
  ]);
  return { advice: { ...before, trials, filters, limit }, curve };
}

async function sweptRows(
  rig: Rig,
  focusShiftUm: readonly number[],
  estimator: readonly EstimatorName[],
  trials: number,
  team: Team,
  signal: AbortSignal,
): Promise<SweepRow[]> {
  const cells = cellsOf(rig, focusShiftUm, estimator, trials);
  return (await Promise.all(cells.map((cell) => team.run(signal, 'cell', cell)))).flat();
}

function cellsOf(
  rig: Rig,
  focusShiftUm: readonly number[],
  estimator: readonly EstimatorName[],
  trials: number,
): SweepCell[] {
  const axes = { focusShiftUm: [...focusShiftUm], estimator: [...estimator] };
  return sweepCells(rig, { axes, seed: liveSeed, trials });
}

async function curveByFormula(
  rig: Rig,
  shiftsUm: readonly number[],
  team: Team,
  signal: AbortSignal,
): Promise<SweepRow[]> {
  const estimators = curveEstimators(rig);
  const points = await Promise.all(
    shiftsUm.map((focusShiftUm) => team.runFirst(signal, 'formulaPoint', rig, { focusShiftUm }, estimators)),
  );
  const common = { plan: '', version, rig: rig.name, seed: liveSeed };
  return points.flatMap(({ scene, errors }, cell) =>
    errors.map((error) => ({ cell, ...common, ...scene, ...error })),
  );
}

function picturesOf(
  rig: Rig,
  advice: RefocusAdvice,
  team: Team,
  signal: AbortSignal,
): Promise<StarPicture[]> {
  return Promise.all(
    pictureShiftsUm(advice).map((shift) => team.runFirst(signal, 'starPicture', rig, shift, liveSeed)),
  );
}
