/** The report of the page: by formula at once, then by simulation with more and more frames. */
import {
  type FilterAdvice,
  type RefocusAdvice,
  type Rig,
  type SweepRow,
  sweepCells,
  version,
} from '@holdfast/sim';
import { curveEstimators, curveShiftsUm, pictureShiftsUm } from '../../make-report.ts';
import type { Report, StarPicture } from '../../report.ts';
import { settled } from '../book.ts';
import type { Crew } from '../work/crew.ts';
import { adviceByFormula, filtersByFormula } from './formula-report.ts';
import { inSlices } from './in-slices.ts';

/** Curve and stars are left out while they are not ready: the ones before stay on the page. */
export interface LiveReport extends Omit<Report, 'curve' | 'stars'> {
  readonly curve?: Report['curve'];
  readonly stars?: Report['stars'];
  /** How far it is, for people. */
  readonly state: string;
  readonly isDone: boolean;
}

export const liveSeed = 'notebook';
/** Simulated frames a star, round after round; the last is what the command line takes. */
export const rounds = [64, 256, 1024] as const;

export async function* liveReport(
  rig: Rig,
  crew: Crew,
  signal: AbortSignal,
): AsyncGenerator<LiveReport, void, unknown> {
  const state = 'By formula; the simulation begins.';
  const sought = crew.runFirst(signal, 'formulaLimits', rig);
  sought.catch(() => undefined);
  const filters = await inSlices(filtersByFormula(rig), signal);
  const advice = adviceByFormula(rig, liveSeed, filters, await sought);
  yield { rig, version, advice, state, isDone: false };
  const [curve, stars] = await Promise.all([
    curveByFormula(rig, curveShiftsUm(advice), crew, signal),
    picturesOf(rig, advice, crew, signal),
  ]);
  let report: Report = { rig, version, advice, curve, stars };
  yield { ...report, state, isDone: false };
  await settled(signal);
  for (const [round, trials] of rounds.entries()) {
    report = await simulated(rig, report, trials, round === 0, crew, signal);
    const isDone = round === rounds.length - 1;
    const next = isDone ? '' : `; ${rounds[round + 1]} are on their way`;
    yield { ...report, state: `Simulated: ${trials} frames a star${next}.`, isDone };
  }
}

async function simulated(
  rig: Rig,
  before: Report,
  trials: number,
  isFirst: boolean,
  crew: Crew,
  signal: AbortSignal,
): Promise<Report> {
  const options = { seed: liveSeed, trials };
  let { advice } = before;
  const curveOf = async (focusShiftUm: number[]): Promise<SweepRow[]> => {
    const axes = { focusShiftUm, estimator: curveEstimators(rig) };
    const cells = sweepCells(rig, { axes, seed: liveSeed, trials: Math.ceil(trials / 4) });
    return (await Promise.all(cells.map((cell) => crew.run(signal, 'cell', cell)))).flat();
  };
  // The first round says what is not modelled and where the axis ends; later ones are cut in pieces, filter by filter.
  if (isFirst) advice = await crew.run(signal, 'advise', rig, options);
  const shifts = curveShiftsUm(advice);
  const [filters, limit, curve] = await Promise.all([
    isFirst
      ? advice.filters
      : Promise.all(
          rig.filters.map(
            async ({ name, focusShiftUm }): Promise<FilterAdvice> => ({
              filter: name,
              ...(await crew.run(
                signal,
                'adviseStar',
                rig,
                { focusShiftUm: focusShiftUm + rig.guideFocusShiftUm },
                options,
              )),
            }),
          ),
        ),
    isFirst ? advice.limit : crew.run(signal, 'focusLimit', rig, {}, options),
    curveOf(shifts),
  ]);
  const whole = { ...advice, trials, filters, limit };
  const stars = isFirst ? await picturesOf(rig, whole, crew, signal) : before.stars;
  return { ...before, advice: whole, curve, stars };
}

async function curveByFormula(
  rig: Rig,
  shiftsUm: readonly number[],
  crew: Crew,
  signal: AbortSignal,
): Promise<SweepRow[]> {
  const estimators = curveEstimators(rig);
  const points = await Promise.all(
    shiftsUm.map((focusShiftUm) => crew.runFirst(signal, 'formulaPoint', rig, { focusShiftUm }, estimators)),
  );
  const common = { plan: '', version, rig: rig.name, seed: liveSeed };
  return points.flatMap(({ scene, errors }, cell) =>
    errors.map((error) => ({ cell, ...common, ...scene, ...error })),
  );
}

function picturesOf(
  rig: Rig,
  advice: RefocusAdvice,
  crew: Crew,
  signal: AbortSignal,
): Promise<StarPicture[]> {
  return Promise.all(
    pictureShiftsUm(advice).map((shift) => crew.runFirst(signal, 'starPicture', rig, shift, liveSeed)),
  );
}
