/** The report of the page: by formula at once, then by simulation with more and more frames. */
import {
  type CompleteAdvice,
  type FilterAdvice,
  type RefocusAdvice,
  type Rig,
  type SweepRow,
  version,
} from '@holdfast/sim';
import { curveEstimators, curveShiftsUm, pictureShiftsUm } from '../../reports/make-report.ts';
import type { Report, StarPicture } from '../../reports/report.ts';
import { settled } from '../book.ts';
import type { Team } from '../work/crew.ts';
import { cellOf, liveSeed } from './cell-of.ts';
import { rigOfStar } from './derived.ts';
import { likelyAssessment } from './formula-error.ts';
import { filterGuess } from './formula-report.ts';
import { firstLookFrames, firstLookMs, isWanted, roundsTo } from './rounds.ts';

/** By formula, before the limit is known. */
interface FirstReport extends Omit<Report, 'advice' | 'curve' | 'stars'> {
  readonly advice: Omit<RefocusAdvice, 'limit'> & { readonly limit?: undefined };
  readonly curve?: undefined;
  readonly stars?: undefined;
  readonly whole?: undefined;
  /** How far it is, for people. */
  readonly state: string;
}

/** Curve and stars are left out while they are not ready: the ones before stay on the page. */
interface LimitedReport extends Omit<Report, 'curve' | 'stars'> {
  readonly curve?: Report['curve'];
  readonly stars?: Report['stars'];
  /** Advice with nothing left out, once it is there. */
  readonly whole?: CompleteAdvice;
  readonly state: string;
}

export type LiveReport = FirstReport | LimitedReport;

/** Who is asked for each part: what is on the screen is served first. */
export interface ReportTeams {
  readonly answer: Team;
  readonly curve: Team;
  readonly stars: Team;
}

/**
 * @param most  largest number of simulated frames per star
 * @param begins  when the simulation may begin
 * @param isRead  once the chapter is read: its curve and its pictures are drawn only then
 */
export async function* liveReport(
  rig: Rig,
  most: number,
  teams: ReportTeams,
  begins: Promise<void>,
  isRead: Promise<void>,
  signal: AbortSignal,
): AsyncGenerator<LiveReport, void, unknown> {
  const team = teams.answer;
  const byFormula = filtersByFormula(rig, team, signal);
  // Not beside it: the page draws meanwhile.
  const limited = byFormula.then(() => team.runFirst(signal, 'formulaLimit', rigOfStar(rig)));
  limited.catch(() => undefined);
  const filters = await byFormula;
  const state = 'By formula; the simulation begins.';
  yield { rig, version, advice: filters, state };
  const looked = begins
    .then(() => settled(signal, firstLookMs))
    .then(() => firstLook(rig, filters, team, signal));
  looked.catch(() => undefined);
  const formula = { ...filters, limit: await limited };
  let report: LimitedReport = { rig, version, advice: formula, state };
  const updated = (change: Partial<LimitedReport>): LimitedReport => {
    report = { ...report, ...change };
    return report;
  };
  yield report;
  const rounds = roundsTo(most);
  const first = looked.then((found) => ({ ...formula, ...found }));
  const answers = [first];
  for (const [i, trials] of rounds.entries())
    answers.push(
      answers[answers.length - 1].then((before) =>
        isWanted(rounds, i) ? simulated(rig, before, trials, team, signal) : before,
      ),
    );
  const parts: Promise<Partial<LimitedReport>>[] = answers.map((found, i) =>
    found.then((advice) => ({ advice, state: stateOf([firstLookFrames, ...rounds], i) })),
  );
  const [, second] = answers;
  parts.push(
    second
      .then(() => team.run(signal, 'advise', rig, { seed: liveSeed, trials: rounds[0] }))
      .then((whole) => ({ whole })),
  );
  // The answer goes first.
  let curve = Promise.all([isRead, first]).then(() =>
    curveByFormula(rig, curveShiftsUm(formula), teams.curve, signal),
  );
  parts.push(curve.then((curve) => ({ curve })));
  for (const [i, found] of answers.entries())
    if (i > 0) {
      curve = Promise.all([found, curve]).then(([advice, before]) =>
        isWanted(rounds, i - 1) ? sweptRows(rig, advice, rounds[i - 1] / 4, teams.curve, signal) : before,
      );
      parts.push(curve.then((curve) => ({ curve })));
    }
  // The pictures go to twice the limit: once it is simulated, they stand where they will stay.
  let stars = isRead.then(() => first).then((advice) => picturesOf(rig, advice, teams.stars, signal));
  parts.push(stars.then((stars) => ({ stars })));
  stars = Promise.all([second, stars]).then(([advice]) => picturesOf(rig, advice, teams.stars, signal));
  parts.push(stars.then((stars) => ({ stars })));
  yield* asTheyCome(parts, updated);
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

function stateOf(rounds: readonly number[], round: number): string {
  const next = rounds[round + 1];
  return `Simulated: ${rounds[round]} frames per star${next === undefined ? '' : `; ${next} are on their way`}.`;
}

type WithoutLimit = Omit<RefocusAdvice, 'limit'>;

async function filtersByFormula(rig: Rig, team: Team, signal: AbortSignal): Promise<WithoutLimit> {
  const found = await team.runFirst(signal, 'formulaAnswer', rig);
  const { estimator } = rig.tracking;
  return { rig: rig.name, estimator, seed: liveSeed, trials: 0, ...found, notModeled: [] };
}

/** A few frames at each filter: what they say has errors, and no outcome rests on it yet. */
async function firstLook(
  rig: Rig,
  advice: WithoutLimit,
  team: Team,
  signal: AbortSignal,
): Promise<WithoutLimit> {
  const trials = firstLookFrames;
  const shifts = advice.filters.map(({ focusShiftUm }) => focusShiftUm);
  const rows = (
    await Promise.all(
      [...new Set(shifts)].map((focusShiftUm) =>
        team.runFirst(signal, 'cell', cellOf(rig, { focusShiftUm }, [advice.estimator], trials)),
      ),
    )
  ).flat();
  const filters = advice.filters.map(({ filter, focusShiftUm }): FilterAdvice => {
    const row = rows.find((each) => each.focusShiftUm === focusShiftUm) as SweepRow;
    return filterGuess(rig, filter, focusShiftUm, likelyAssessment(rig, row, row));
  });
  return { ...advice, trials, filters };
}

async function simulated(
  rig: Rig,
  before: RefocusAdvice,
  trials: number,
  team: Team,
  signal: AbortSignal,
): Promise<RefocusAdvice> {
  const options = { seed: liveSeed, trials };
  const [filters, limit] = await Promise.all([
    Promise.all(
      before.filters.map(
        async ({ filter, focusShiftUm }): Promise<FilterAdvice> => ({
          filter,
          ...(await team.run(signal, 'adviseStar', rigOfStar(rig), { focusShiftUm }, options)),
        }),
      ),
    ),
    team.run(signal, 'focusLimit', rigOfStar(rig), {}, options),
  ]);
  return { ...before, trials, filters, limit };
}

async function sweptRows(
  rig: Rig,
  advice: RefocusAdvice,
  trials: number,
  team: Team,
  signal: AbortSignal,
): Promise<SweepRow[]> {
  const names = curveEstimators(rig);
  const rows = await Promise.all(
    curveShiftsUm(advice).map((focusShiftUm) =>
      team.run(signal, 'cell', cellOf(rig, { focusShiftUm }, names, trials)),
    ),
  );
  return rows.flat();
}

async function curveByFormula(
  rig: Rig,
  shiftsUm: readonly number[],
  team: Team,
  signal: AbortSignal,
): Promise<SweepRow[]> {
  const estimators = curveEstimators(rig);
  const points = (
    await Promise.all(
      shiftsUm.map((focusShiftUm) =>
        team.runFirst(signal, 'formulaPoints', rig, [{ focusShiftUm }], estimators),
      ),
    )
  ).flat();
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
