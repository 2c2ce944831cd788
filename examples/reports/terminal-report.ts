/** The advice as text: a table of the filters, the reasons, the limit, and where the numbers come from. */
import {
  type FocusLimit,
  type Interval,
  type RefocusAdvice,
  type Rig,
  type StarAdvice,
  starWords,
} from '@holdfast/sim';
import {
  decisionText,
  estimatorLabels,
  noiseWithinBudgetArcsec,
  percent,
  significant,
} from '@holdfast/sim/internal';
import { besideText } from './beside-text.ts';
import { guideFocusLines } from './guide-focus-text.ts';
import { textTable } from './text-table.ts';
import { wrapped } from './wrapped-text.ts';

const limitWords: Record<FocusLimit['limitedBy'], string> = {
  'fwhm-growth': 'set by noise: beyond it the stars of the picture grow more than allowed',
  'lost-fraction': 'set by lost frames: beyond it too many frames give no position',
  'rms-error': 'set by noise: beyond it the noise-equivalent error is more than allowed',
  'ring-size': 'no limit found up to the largest ring that was simulated',
  'out-of-budget-in-focus': 'the star exceeds the budget even in focus',
  window: 'set by the window: beyond it the ring outgrows the window',
};

/** What is asked: it stands there at once, as the answer takes seconds. */
export function headLines(rig: Rig): string[] {
  const { guideCamera, guideStar, tracking } = rig;
  return [
    `${rig.name}: guide star of V ${guideStar.magnitude}, frames of ${guideCamera.exposureS} s, ${estimatorLabels[tracking.estimator]}`,
    ...wrapped(starWords(rig)),
  ];
}

/** The answer below them. */
export function terminalReport(rig: Rig, advice: RefocusAdvice): string[] {
  const { budget } = rig;
  const rows = advice.filters.map((filter) => [filter.filter, ...rowOf(rig, filter)]);
  return [
    '',
    ...textTable([['filter', ...columns], ['', ...units], ...rows]),
    '',
    ...advice.filters.flatMap(({ filter, outcome, reason, otherMethod }) => [
      ...wrapped(`${filter}: ${outcome}; ${reason}.`),
      ...(otherMethod ? wrapped(`${filter}: ${otherMethod.text}.`) : []),
    ]),
    '',
    ...limitLines(advice.limit),
    '',
    ...(advice.bestGuideFocus
      ? [...guideFocusLines(advice.bestGuideFocus).flatMap((line) => wrapped(line)), '']
      : []),
    ...wrapped(
      `Errors are 1 sigma, one axis; ± is one standard error (where none stands, it is less than half of the last digit), brackets are 95 % intervals. By simulation: up to ${advice.trials} frames ` +
        `per row, as many as its verdict needs, seed ${advice.seed}${advice.bestGuideFocus ? ` (${advice.bestGuideFocus.trials} per shift for the setting)` : ''}. Budget: stars grow by at most ${budget.fwhmGrowthPercent} %, at most ` +
        `${budget.lostFractionPercent} % of frames lost. Growth is against a guide star measured without error. The offset is constant and goes into the set point. The noise-equivalent ` +
        `error (noise-eq.) is scatter over response: what counts for guiding.`,
    ),
    ...(advice.beside ? wrapped(besideText(advice.beside)) : []),
    ...wrapped(`Not modeled: ${advice.notModeled.join('; ')}.`),
  ];
}

const columns = [
  'shift',
  'ring',
  'SNR',
  'offset',
  'scatter',
  'response',
  'noise-eq.',
  'lost',
  'growth',
  'outcome',
];
const units = ['µm', 'px', '', 'px', 'px', '', 'arcsec', '%', '%', ''];

function rowOf(rig: Rig, { focusShiftUm, assessment, outcome }: StarAdvice): string[] {
  const { scene, error, growth } = assessment;
  const allowedArcsec = noiseWithinBudgetArcsec(rig, { exposureS: scene.exposureS });
  return [
    signed(focusShiftUm),
    scene.outerDiameterPx.toFixed(1),
    significant(scene.snr, 3),
    error.offsetXPx && error.offsetYPx
      ? Math.sqrt(error.offsetXPx.value ** 2 + error.offsetYPx.value ** 2).toFixed(2)
      : 'none',
    error.scatterPx ? decisionText(error.scatterPx, allowedArcsec / scene.arcsecPerPx) : 'none',
    error.responseX && error.responseY
      ? Math.min(error.responseX.value, error.responseY.value).toFixed(2)
      : 'none',
    error.noiseEquivalentArcsec
      ? decisionText(error.noiseEquivalentArcsec, allowedArcsec)
      : error.located > 1
        ? 'does not follow'
        : 'none',
    lostText(error.lostFraction),
    growth ? decisionText(growth.growthPercent, rig.budget.fwhmGrowthPercent) : 'none',
    outcome,
  ];
}

/** One star's advice as lines, for a measured frame: it does not tell the side of focus. */
export function starLines(rig: Rig, advice: StarAdvice): string[] {
  const [, ...row] = rowOf(rig, advice);
  const shift = `± ${significant(Math.abs(advice.focusShiftUm), 4)}`;
  return [
    ...textTable([columns, units, [shift, ...row]]),
    '',
    ...wrapped(`This star: ${advice.outcome}; ${advice.reason}.`),
    ...(advice.otherMethod ? wrapped(`This star: ${advice.otherMethod.text}.`) : []),
  ];
}

/** The focus limit as lines. */
export function limitLines(limit: FocusLimit): string[] {
  const { limitUm, formulaLimitUm, leastErrorLimitUm, before, beyond, saturatedUm } = limit;
  const sides =
    before.limitUm.value === beyond.limitUm.value
      ? []
      : [
          `  Ahead of focus ${intervalText(before.limitUm)} µm, beyond it ${intervalText(beyond.limitUm)} µm.`,
        ];
  const saturated =
    saturatedUm === undefined
      ? []
      : [
          saturatedUm > 0
            ? `  Within some ${significant(saturatedUm, 2)} µm of focus the star saturates.`
            : '  In focus the star saturates: the error given is that of its flattened image.',
        ];
  return [
    `Focus limit: ${intervalText(limitUm)} µm either side of focus, a ring of ${intervalText(limit.ringDiameterPx)} px;`,
    `  ${limitWords[limit.limitedBy]} (${limit.shiftsTried} shifts tried, up to ${limit.trialsPerShift} frames each).`,
    ...sides,
    `  By formula ${formulaText(formulaLimitUm, limitUm.value)}; with the least possible error of the position ${significant(leastErrorLimitUm, 3)} µm.`,
    windowText(limit),
    ...saturated,
  ];
}

function windowText({ windowPx, windowToHoldPx, windowFrom }: FocusLimit): string {
  const from = windowFrom === 'rig' ? 'as the rig says' : 'matched to the largest ring of the filters';
  return `  Window: ${windowPx} px, ${from}; the ring at the limit needs ${windowToHoldPx} px.`;
}

/** The formula's limit, and how far it is off what was simulated. */
function formulaText(formula: number, simulated: number): string {
  if (formula === 0) return 'none (the star is not usable even in focus)';
  const limit = `${significant(formula, 3)} µm`;
  if (!(simulated > 0)) return limit;
  const off = 100 * (formula / simulated - 1);
  return `${limit} (${off < 0 ? '' : '+'}${off.toFixed(0)} %)`;
}

function intervalText({ value, low, high }: Interval): string {
  return `${significant(value, 3)} [${significant(low, 3)}, ${significant(high, 3)}]`;
}

function lostText({ value, low, high }: Interval): string {
  return `${percent(value).replace(' %', '')} [${(100 * low).toFixed(1)}, ${(100 * high).toFixed(1)}]`;
}

const signed = (value: number): string => (value > 0 ? `+${significant(value, 3)}` : significant(value, 3));
