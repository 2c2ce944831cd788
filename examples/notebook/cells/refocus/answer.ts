/** The answer for this rig: in a sentence, as a table of the filters, and against the budget. */
import type { Assessment, FilterAdvice } from '@holdfast/sim';
import { significant } from '@holdfast/sim/internal';
import { growthFigure } from '../../../figures/growth.ts';
import { decisionText, estimateText, lostText, shiftText, shown } from '../../../figures/number-words.ts';
import { outcomeWord } from '../../../figures/outcome-word.ts';
import { answerSentences } from '../../answer-sentences.ts';
import type { Cell } from '../../cell.ts';
import type { LiveReport } from '../../compute/live-report.ts';
import { element, paragraph } from '../../element.ts';
import { subject } from '../../heading.ts';
import { newsOf } from '../../news.ts';
import { filtersOf } from '../../rig-form/filter-rows.ts';
import type { TableBox, TableColumn } from '../../table-box.ts';

/** A filter as it is, or as it would be with the advised change. */
interface TableRow {
  readonly advice: FilterAdvice;
  readonly assessment: Assessment;
  readonly change?: string;
}

export const answer: Cell = {
  id: 'answer',
  title: 'The answer',
  content(book) {
    const sentence = element('p', { class: 'answer' });
    const more = paragraph();
    const table = book.table<TableRow>('advice-by-filter');
    const figure = book.figure(
      'growth-by-filter',
      70 + 26 * Math.max(1, filtersOf(book.rigForm.value).length),
    );
    const isNew = newsOf();
    book.show(['live'], (live: LiveReport) => {
      const [first, ...others] = answerSentences(live);
      sentence.replaceChildren(first);
      more.replaceChildren(...others);
      if (!isNew(live.rig, live.advice.filters)) return;
      figure.redraw((options) => growthFigure(live, options), growthCaption(live));
      table.redraw(tableOf(live));
    });
    return [
      element('p', { class: 'subject', id: 'subject' }, book.text(['rig'], subject)),
      element(
        'p',
        { class: 'state', role: 'status' },
        book.text(['live'], ({ state }: LiveReport) => state),
      ),
      sentence,
      more,
      table.element,
      figure.element,
      paragraph(
        element('strong', {}, 'Keep'),
        ': within your budget as it is. ',
        element('strong', {}, 'Trim'),
        ': within your budget only with the change that is named. ',
        element('strong', {}, 'Refocus'),
        ': outside your budget with every change that was tried. A row is within the budget when its whole 95 % interval is. ' +
          'A question mark means that the outcome rests on a formula or on the first few frames, and may change.',
      ),
    ];
  },
};

function tableOf({ advice, rig }: LiveReport): TableBox<TableRow> {
  const { fwhmGrowthPercent, lostFractionPercent } = rig.budget;
  const rows = advice.filters.flatMap((filter): TableRow[] => [
    { advice: filter, assessment: filter.assessment },
    ...(filter.trim ? [{ advice: filter, ...filter.trim }] : []),
  ]);
  const setIn =
    rows.length > advice.filters.length
      ? ' An indented row shows the filter above it with the named change.'
      : '';
  return {
    caption: [
      shown(
        `The guide star with each filter. Noise-equivalent error: scatter divided by response, one axis, ± one standard error. ` +
          `Brackets: 95 % interval. The budget allows ${fwhmGrowthPercent} % growth and ${lostFractionPercent} % lost frames.${setIn}`,
      ),
    ],
    columns: columnsOf(fwhmGrowthPercent),
    rows,
    // What is kept says its reason in the last column.
    note: ({ change, advice: { outcome, reason } }) =>
      change || outcome === 'keep' ? undefined : shown(reason),
    isChanged: ({ change }) => change !== undefined,
    record: recordOf,
  };
}

function growthCaption({ advice }: LiveReport): string[] {
  const hollow = advice.filters.some(({ trim }) => trim)
    ? '; hollow marks: with the change that the table names'
    : '';
  return [
    shown(
      `How much wider the stars in the picture become (growth of their FWHM) because the guide star’s position has an error. ` +
        `Bars: 95 % interval${hollow}. The axis is a square-root scale.`,
    ),
  ];
}

const columnsOf = (acceptedPercent: number): readonly TableColumn<TableRow>[] => [
  {
    head: 'filter',
    isHead: true,
    cell: ({ advice, change }) => [change ? `${advice.filter}: ${change}` : advice.filter],
  },
  {
    head: 'outcome',
    cell: ({ advice, change }) => [
      change ? 'within' : element('span', { class: `outcome ${advice.outcome}` }, outcomeWord(advice)),
    ],
  },
  {
    head: 'focus shift',
    isNumber: true,
    cell: ({ advice, assessment: { scene } }) => [
      shiftText(advice.focusShiftUm),
      shown(`ring ${scene.outerDiameterPx.toFixed(1)} px`),
    ],
  },
  { head: 'SNR', isNumber: true, cell: ({ assessment }) => [significant(assessment.scene.snr, 3)] },
  {
    head: 'noise-equivalent error',
    isNumber: true,
    cell: ({ assessment: { error } }) =>
      error.noiseEquivalentPx
        ? [estimateText(error.noiseEquivalentPx, 'px'), estimateText(error.noiseEquivalentArcsec, 'arcsec')]
        : ['none'],
  },
  {
    head: 'frames lost',
    isNumber: true,
    cell: ({ assessment: { error } }) =>
      error.trials === 0 ? ['to be simulated'] : lostText(error.lostFraction).split(/ (?=\()/),
  },
  {
    head: 'growth',
    unit: '%',
    isNumber: true,
    cell: ({ assessment }) => [decisionText(assessment.growth?.growthPercent, acceptedPercent)],
  },
];

function recordOf({ advice, assessment, change }: TableRow): Record<string, string | number | undefined> {
  const { scene, error, growth } = assessment;
  return {
    filter: advice.filter,
    change: change ?? '',
    'focus shift (um)': advice.focusShiftUm,
    'ring diameter (px)': scene.outerDiameterPx,
    SNR: scene.snr,
    'noise-equivalent error (px)': error.noiseEquivalentPx?.value,
    'standard error of that (px)': error.noiseEquivalentPx?.standardError,
    'noise-equivalent error (arcsec)': error.noiseEquivalentArcsec?.value,
    'standard error of that (arcsec)': error.noiseEquivalentArcsec?.standardError,
    'lost fraction': error.lostFraction.value,
    'lost fraction, low 95 %': error.lostFraction.low,
    'lost fraction, high 95 %': error.lostFraction.high,
    'FWHM growth (%)': growth?.growthPercent.value,
    'standard error of growth (%)': growth?.growthPercent.standardError,
    outcome: advice.outcome,
    reason: advice.reason,
  };
}
