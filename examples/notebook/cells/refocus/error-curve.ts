/** The error against the distance from focus. */
import { noiseWithinBudgetArcsec, type SweepRow } from '@holdfast/sim';
import { estimatorLabels, intervalOf, percent, significant } from '@holdfast/sim/internal';
import { errorCurveFigure } from '../../../figures/error-curve.ts';
import { estimateText, intervalText, shown } from '../../../figures/number-words.ts';
import type { Report } from '../../../reports/report.ts';
import type { Cell } from '../../cell.ts';
import type { LiveReport } from '../../compute/live-report.ts';
import { element, paragraph } from '../../element.ts';
import { newsOf } from '../../news.ts';
import type { TableBox } from '../../table-box.ts';

export const errorCurve: Cell = {
  id: 'error-against-focus',
  title: 'Error against distance from focus',
  content(book) {
    const figure = book.figure('error-against-focus-shift', 616);
    const table = book.table<readonly SweepRow[]>('error-curve');
    const remark = paragraph();
    const isNew = newsOf();
    book.show(['live'], (live: LiveReport) => {
      figure.element.classList.toggle('stale', live.curve === undefined);
      if (live.curve === undefined || !isNew(live.curve, live.advice.limit)) return;
      const report = { ...live, curve: live.curve, stars: live.stars ?? [] };
      figure.redraw((options) => errorCurveFigure(report, options), captionOf(report));
      table.redraw(tableOf(report.curve));
      remark.replaceChildren(
        live.curve.some(isBelowBound)
          ? 'Where a line falls below the least possible error, the method no longer follows the star: its position stays near the ' +
              'middle of the window.'
          : '',
      );
    });
    return [
      paragraph(
        'The ring looks the same on both sides of focus, so only the distance counts. Photons and camera noise set the ' +
          'least possible error, which no unbiased method can beat. The gap between a line and that error is the cost of the method.',
      ),
      remark,
      figure.element,
      element('details', {}, element('summary', {}, 'The numbers of the curve'), table.element),
    ];
  },
};

function captionOf({ advice, curve, rig }: Report): string[] {
  const { trials } = curve[0];
  const allowed = significant(noiseWithinBudgetArcsec(rig), 2);
  const { limitUm } = advice.limit;
  const limit =
    limitUm.low === limitUm.high ? `about ${significant(limitUm.value, 2)} µm` : intervalText(limitUm, 'µm');
  const frames =
    trials === 0
      ? 'By formula so far; the share of lost frames follows from the simulation.'
      : `${trials} simulated frames per point.`;
  return [
    shown(
      `Above: noise-equivalent error (scatter divided by response) of the position, one axis, in arcsec (left) and px of the guide ` +
        `camera (right). Below: share of frames without a position; the error above leaves them out. Bars: 95 % interval, where it is ` +
        `larger than the mark. Thick line: this rig’s method (${estimatorLabels[advice.estimator]}). Shaded area: less than the least ` +
        `possible error (Cramér–Rao bound). Dotted: what the budget allows, ${allowed}″ above and ` +
        `${rig.budget.lostFractionPercent} % below. Shaded band: the focus limit, ${limit}. ${frames}`,
    ),
  ];
}

function tableOf(curve: readonly SweepRow[]): TableBox<readonly SweepRow[]> {
  return {
    caption: [
      'Noise-equivalent error, one axis, arcsec, ± one standard error; in brackets the share of frames without a position.',
    ],
    columns: [
      {
        head: 'distance',
        unit: 'µm',
        isHead: true,
        cell: ([row]) => [shown(String(row.focusShiftUm))],
      },
      {
        head: 'ring',
        unit: 'px',
        isNumber: true,
        cell: ([row]) => [row.outerDiameterPx.toFixed(1)],
      },
      ...curve
        .filter(({ focusShiftUm }) => focusShiftUm === curve[0].focusShiftUm)
        .map(({ estimator }, i) => ({
          head: estimatorLabels[estimator],
          isNumber: true,
          cell: (rows: readonly SweepRow[]) => [errorText(rows[i])],
        })),
      {
        head: 'least possible',
        isNumber: true,
        cell: ([row]) => [significant(row.boundPx * row.arcsecPerPx, 3)],
      },
    ],
    rows: byShift(curve),
    record: (rows) => ({
      'distance from focus (um)': rows[0].focusShiftUm,
      'ring diameter (px)': rows[0].outerDiameterPx,
      SNR: rows[0].snr,
      'least possible error (arcsec)': rows[0].boundPx * rows[0].arcsecPerPx,
      ...Object.assign({}, ...rows.map(recordOf)),
    }),
  };
}

/** Less error than is possible without bias, beyond doubt. */
function isBelowBound({ boundRatio, trials }: SweepRow): boolean {
  return trials > 0 && boundRatio !== undefined && intervalOf(boundRatio).high < 1;
}

/** One group of estimators for each shift. */
function byShift(curve: readonly SweepRow[]): SweepRow[][] {
  const groups = new Map<number, SweepRow[]>();
  for (const row of curve) groups.set(row.focusShiftUm, [...(groups.get(row.focusShiftUm) ?? []), row]);
  return [...groups.values()];
}

function errorText({ noiseEquivalentArcsec, lostFraction }: SweepRow): string {
  const lost = lostFraction.value > 0 ? ` (${percent(lostFraction.value)})` : '';
  return `${estimateText(noiseEquivalentArcsec)}${shown(lost)}`;
}

function recordOf({
  estimator,
  noiseEquivalentArcsec,
  lostFraction,
}: SweepRow): Record<string, number | undefined> {
  const label = estimatorLabels[estimator];
  return {
    [`${label}: noise-equivalent error (arcsec)`]: noiseEquivalentArcsec?.value,
    [`${label}: standard error of that (arcsec)`]: noiseEquivalentArcsec?.standardError,
    [`${label}: lost fraction`]: lostFraction.value,
    [`${label}: lost fraction, low 95 %`]: lostFraction.low,
    [`${label}: lost fraction, high 95 %`]: lostFraction.high,
  };
}
