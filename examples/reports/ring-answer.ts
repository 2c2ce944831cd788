/**
 * The answer about one ring: keep, trim or refocus, how large it may grow, and what the assumptions are
 * worth.
 */
import {
  type AssumptionEffect,
  adviseStar,
  assumptionEffects,
  buildScene,
  type FocusLimit,
  focusLimit,
  type Interval,
  type LongWorkOptions,
  type Rig,
  type RigAssumption,
  type SceneSetting,
  type SeenRig,
  type StarAdvice,
  type StartedRig,
} from '@holdfast/sim';
import { estimatorLabels, significant } from '@holdfast/sim/internal';
import { listText } from './quantity-text.ts';

/** Data for whoever shows it: the terminal, the page, JSON. */
export interface RingAnswer {
  readonly rig: Rig;
  /** Outer diameter of the ring that was asked about, px. */
  readonly ringDiameterPx: number;
  /** Its distance from focus, um. */
  readonly absFocusShiftUm: number;
  readonly advice: StarAdvice;
  readonly limit: FocusLimit;
  /** What was neither given nor known; empty for a rig file. */
  readonly assumptions: readonly RigAssumption[];
  /** Of the assumptions that matter most, the first the most. */
  readonly effects: readonly AssumptionEffect[];
}

export interface RingAnswerOptions extends LongWorkOptions {
  readonly seed: string;
  readonly trials: number;
  /** Told the answer before the effects of the assumptions are known: these take longer. */
  readonly onAnswer?: (answer: RingAnswer) => void;
}

/**
 * A ring of a rig that is known. The star is the rig's, or has this magnitude, or makes its ring have this
 * SNR.
 */
export interface AskedRing {
  readonly ringDiameterPx: number;
  readonly magnitude?: number | undefined;
  readonly snr?: number | undefined;
}

/** @throws RangeError for a number outside its range */
export async function answerForRig(
  rig: Rig,
  { ringDiameterPx, magnitude, snr }: AskedRing,
  options: RingAnswerOptions,
): Promise<RingAnswer> {
  const { pixelSizeUm, binning } = rig.guideCamera;
  const { focalLengthMm, apertureMm } = rig.telescope;
  const absFocusShiftUm = (ringDiameterPx * pixelSizeUm * binning * focalLengthMm) / apertureMm;
  const star =
    snr === undefined
      ? { ...(magnitude === undefined ? {} : { magnitude }) }
      : { fluxE: buildScene(rig, { focusShiftUm: absFocusShiftUm, snr }).fluxE };
  return answer(rig, { ...star, focusShiftUm: absFocusShiftUm }, ringDiameterPx, options);
}

/** A ring of a rig of which only a few numbers are known. */
export async function answerFromSight(
  seen: SeenRig,
  started: StartedRig,
  options: RingAnswerOptions,
): Promise<RingAnswer> {
  const { rig, absFocusShiftUm: focusShiftUm, assumptions } = started;
  const first = await answer(rig, { focusShiftUm }, seen.ringDiameterPx ?? 0, options);
  options.onAnswer?.({ ...first, assumptions });
  const { seed, trials } = options;
  const effects = await assumptionEffects(seen, started, first.limit, {
    seed,
    trials: Math.min(trials, 256),
    ...longOf(options),
  });
  return { ...first, assumptions, effects };
}

async function answer(
  rig: Rig,
  setting: SceneSetting,
  ringDiameterPx: number,
  options: RingAnswerOptions,
): Promise<RingAnswer> {
  const long = { seed: options.seed, trials: options.trials, ...longOf(options) };
  const advice = await adviseStar(rig, setting, long);
  const { focusShiftUm, ...star } = setting;
  const limit = await focusLimit(rig, { ...long, setting: star });
  return {
    rig,
    ringDiameterPx,
    absFocusShiftUm: Math.abs(focusShiftUm),
    advice,
    limit,
    assumptions: [],
    effects: [],
  };
}

const longOf = ({ onProgress, signal }: LongWorkOptions): LongWorkOptions => ({
  ...(onProgress ? { onProgress } : {}),
  ...(signal ? { signal } : {}),
});

/** The verdict in one word, with the change where there is one. */
export function verdictWords({ outcome, trim }: StarAdvice): string {
  return outcome === 'trim' && trim ? `TRIM: ${trim.change}` : outcome.toUpperCase();
}

/** How large the ring may grow. */
export function limitSentence({ limitUm, ringDiameterPx: ring, limitedBy }: FocusLimit): string {
  switch (limitedBy) {
    case 'out-of-budget-in-focus':
      return 'This star is outside the budget even in focus: only more light helps.';
    case 'ring-size':
      return `This star stays usable up to a ring of ${whole(ring.value)} px, the largest that is simulated.`;
    default: {
      // An interval that whole pixels do not show takes tenths.
      const px = whole(ring.low) === whole(ring.high) ? (value: number) => value.toFixed(1) : whole;
      return (
        `Your star stays usable up to a ring of ${px(ring.value)} px (95 % interval ${px(ring.low)} to ${px(ring.high)} px), ` +
        `${significant(limitUm.value, 3)} µm either side of focus.`
      );
    }
  }
}

/** What the ring does now, against what is accepted. */
export function ringSentence({ ringDiameterPx, absFocusShiftUm, advice }: RingAnswer): string {
  const where =
    ringDiameterPx === 0
      ? 'In focus'
      : `At ${significant(ringDiameterPx, 3)} px (${significant(absFocusShiftUm, 3)} µm)`;
  return `${where}: ${advice.reason}.`;
}

/** `read noise 3 e⁻ assumed: 1 to 5 e⁻ moves the limit from 99 to 52 px` */
export function effectSentence({ assumption, limitsPx: [a, b] }: AssumptionEffect): string {
  const { label, others = ['', ''], unit } = assumption;
  const [low, high] = [whole(a.value), whole(b.value)];
  return (
    `${label} ${withUnit(valueText(assumption.value), unit)} assumed: ${valueText(others[0])} to ${withUnit(valueText(others[1]), unit)} ` +
    (low === high ? `leaves the limit at ${low} px` : `moves the limit from ${low} to ${high} px`)
  );
}

/** Assumptions in words, as `seeing 2.5″, gain 0.5 e⁻ per ADU`. */
export const assumptionList = (assumptions: readonly RigAssumption[]): string =>
  listText(assumptions.map(({ label, value, unit }) => `${label} ${withUnit(valueText(value), unit)}`));

const withUnit = (value: string, unit: string): string =>
  unit === '' ? value : unit.startsWith('″') ? `${value}${unit}` : `${value} ${unit}`;

const labels: Readonly<Record<string, string>> = estimatorLabels;
const valueText = (value: number | string): string =>
  typeof value === 'number' ? String(value) : (labels[value] ?? value);

/** No one reads a ring finer than to a pixel; below ten a tenth may matter. */
const whole = (px: Interval['value']): string => (px < 10 ? px.toFixed(1) : px.toFixed(0));
