/** The report of the page: by formula at once, then by simulation with more and more frames. */
import { type FilterAdvice, type Rig, type SweepRow, sweepCells, version } from '@holdfast/sim';
import { curveShiftsUm, pictureShiftsUm, starPicture } from '../../make-report.ts';
import type { Report } from '../../report.ts';
import { settled } from '../book.ts';
import type { Crew } from '../work/crew.ts';
import { formulaReport } from './formula-report.ts';

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
/** Milliseconds of a frame that the formulas may take. */
const sliceMs = 9;

/** A frame of the screen, or the next turn where none is drawn. */
const nextTurn = (): Promise<void> => new Promise((resolve) => setTimeout(resolve, 0));

export async function* liveReport(
  rig: Rig,
  crew: Crew,
  signal: AbortSignal,
): AsyncGenerator<LiveReport, void, unknown> {
  const steps = formulaReport(rig, liveSeed);
  const state = 'By formula; the simulation begins.';
  let started = performance.now();
  let step = steps.next();
  while (!step.done) {
    if (step.value !== undefined) yield { rig, version, advice: step.value, state, isDone: false };
    if (performance.now() - started > sliceMs) {
      await nextTurn();
      signal.throwIfAborted();
      started = performance.now();
    }
    step = steps.next();
  }
  let report = step.value;
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
    const cells = sweepCells(rig, { axes: { focusShiftUm }, seed: liveSeed, trials: Math.ceil(trials / 2) });
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
  const stars = isFirst
    ? pictureShiftsUm(whole).map((shift) => starPicture(rig, shift, liveSeed))
    : before.stars;
  return { ...before, advice: whole, curve, stars };
}
