/** The event, guided through in three ways. */
import type { Estimate, Rig } from '@holdfast/sim';
import { significant } from '@holdfast/sim/internal';
import { estimateText, shown } from '../../../figures/number-words.ts';
import { trackFigure } from '../../../figures/track-figure.ts';
import { invalidation, rigName, settled, signalOf } from '../../book.ts';
import type { Cell } from '../../cell.ts';
import { codeOf } from '../../code.ts';
import { liveSeed } from '../../compute/cell-of.ts';
import type { EventKind, GuidedRuns, RunSetting } from '../../compute/guided-run.ts';
import code from '../../compute/guided-run.ts?raw';
import { wantedOf } from '../../compute/rounds.ts';
import { choiceControl, controls, rangeControl } from '../../controls.ts';
import { element, paragraph, source } from '../../element.ts';
import type { TableBox } from '../../table-box.ts';

const chapter = 'through-a-focus-run';
/** Runs with air, wind and noise of their own: one to see at once, then enough for a standard error. */
const rounds = [1, 8] as const;

const events = new Map<string, EventKind>([
  ['a focus run of five positions', 'focus-run'],
  ['a change of filter', 'filter-change'],
  ['no star, as by a cloud', 'no-star'],
]);

export interface Guided {
  readonly runs: GuidedRuns;
  readonly count: number;
}

export const guidedThrough: Cell = {
  id: 'guided-through',
  title: 'Pause, or carry on',
  content(book) {
    const figure = book.figure('guided-through-event', 584);
    const table = book.table<Way>('ways-through-event');
    const event = choiceControl<EventKind>(book, 'event', 'what happens', events, 'focus-run');
    const span = rangeControl(book, 'runSpan', {
      label: 'focus shift, either side or of the filter',
      unit: 'µm',
      extent: [0, 1000],
      step: 5,
      value: 200,
    });
    const seconds = rangeControl(book, 'runSeconds', {
      label: 'time at each position, or without a star',
      unit: 's',
      extent: [2, 60],
      step: 1,
      value: 8,
    });
    const clip = rangeControl(book, 'runClip', {
      label: 'edge that clips the beam, radii',
      extent: [0, 1],
      step: 0.01,
      value: 0.7,
    });
    book.define(
      'runSetting',
      ['event', 'runSpan', 'runSeconds', 'runClip'],
      (event: EventKind, spanUm: number, secondsEach: number, clipDistance: number): RunSetting => ({
        event,
        spanUm,
        secondsEach,
        clipDistance,
      }),
    );
    book.define(
      'guided',
      [rigName(chapter), 'runSetting', invalidation],
      async function* (rig: Rig, setting: RunSetting, outdated: Promise<unknown>): AsyncGenerator<Guided> {
        const signal = signalOf(outdated);
        await book.seen(chapter, signal);
        await settled(signal, 60);
        for (const count of wantedOf(rounds)) {
          const runs = await book.team(chapter).run(signal, 'guidedRun', rig, setting, liveSeed, count);
          yield { runs, count };
        }
      },
    );
    const said = element('p', { class: 'answer' });
    book.show(['guided', 'runSetting'], ({ runs, count }: Guided, { clipDistance }: RunSetting) => {
      said.replaceChildren(count > 1 ? bestWords(runs) : '');
      figure.redraw(
        (options) => trackFigure(runs, options),
        [
          shown(
            `Above: distance of the telescope from the set point in the first run, averaged over each guide frame. Middle: focus shift ` +
              `of the guide camera. Below: growth of the stars’ FWHM in exposures of one minute, mean of ${count} ` +
              `${count === 1 ? 'run' : 'runs'}. Shaded: the event.${clipDistance < 1 ? ' The star moves with the focus, because its beam is clipped.' : ''}`,
          ),
        ],
      );
      table.redraw(tableOf(runs, count));
    });
    return [
      paragraph(
        'Three ways to guide through the same event, with the same air, wind and mount. The first pauses and then returns to the old ' +
          'set point (the place on the sensor where the loop keeps the star). The second pauses and then keeps the star where it is. ' +
          'The third goes on correcting.',
      ),
      controls(event, span, seconds, clip),
      said,
      figure.element,
      table.element,
      source(
        'Method: steps of a tenth of a second with drift, periodic error, gusts, Kolmogorov image motion and a proportional loop. ' +
          'Each guide frame is drawn, exposed and measured.',
      ),
      codeOf('guided-run.ts', code),
    ];
  },
};

type Way = GuidedRuns['ways'][number];

const during = ({ result }: Way): Estimate => meanOfAxes(result.events[0]?.during ?? result.position);
const after = ({ result }: Way): Estimate => meanOfAxes(result.events[0]?.after ?? result.position);

/** Of both axes together, one axis. */
function meanOfAxes({ rmsX, rmsY }: { rmsX: Estimate; rmsY: Estimate }): Estimate {
  const value = Math.sqrt((rmsX.value ** 2 + rmsY.value ** 2) / 2);
  const slope = Math.sqrt((rmsX.value * rmsX.standardError) ** 2 + (rmsY.value * rmsY.standardError) ** 2);
  return { value, standardError: value > 0 ? slope / (2 * value) : 0 };
}

function worstGrowth({ result }: Way): Estimate {
  return result.picture
    .map(({ growthPercent }) => growthPercent)
    .reduce((a, b) => (b.value > a.value ? b : a));
}

function bestWords({ ways }: GuidedRuns): string {
  const growthOf = (way: Way) => worstGrowth(way);
  const best = ways.reduce((a, b) => (growthOf(b).value < growthOf(a).value ? b : a));
  const worst = ways.reduce((a, b) => (growthOf(b).value > growthOf(a).value ? b : a));
  const [least, most] = [growthOf(best), growthOf(worst)];
  const apart = Math.sqrt(least.standardError ** 2 + most.standardError ** 2);
  const told = `${estimateText(least, '%')} (${best.name}) to ${estimateText(most, '%')} (${worst.name})`;
  // Two standard errors: less than that, and the order may be chance.
  return shown(
    most.value - least.value > 2 * apart
      ? `“${capital(best.name)}” costs the picture least: its worst minute grows by ${told}.`
      : `No way is clearly better in these runs: the picture’s worst minute grows by ${told}.`,
  );
}

const capital = (words: string): string => words.charAt(0).toUpperCase() + words.slice(1);

function tableOf({ ways }: GuidedRuns, count: number): TableBox<Way> {
  const timeText = (estimate: Estimate | undefined) => (estimate ? estimateText(estimate) : 'none');
  return {
    caption: [
      shown(
        `Tracking error (root mean square, one axis), and what the picture gets; mean of ${count} ${count === 1 ? 'run' : 'runs'}${
          count > 1 ? ', ± one standard error from their spread' : ''
        }.`,
      ),
    ],
    columns: [
      { head: 'way', isHead: true, cell: ({ name }) => [name] },
      {
        head: 'tracking error in the event',
        unit: 'arcsec',
        isNumber: true,
        cell: (way) => [text(during(way))],
      },
      { head: 'tracking error after it', unit: 'arcsec', isNumber: true, cell: (way) => [text(after(way))] },
      {
        head: 'recovery',
        unit: 's',
        isNumber: true,
        cell: ({ result }) => [timeText(result.events[0]?.recoveryS)],
      },
      { head: 'growth, worst minute', unit: '%', isNumber: true, cell: (way) => [text(worstGrowth(way))] },
    ],
    rows: ways,
    record: (way) => ({
      way: way.name,
      'tracking error in the event (arcsec)': during(way).value,
      'standard error of that in the event (arcsec)': during(way).standardError,
      'tracking error after it (arcsec)': after(way).value,
      'standard error of that after it (arcsec)': after(way).standardError,
      'recovery (s)': way.result.events[0]?.recoveryS.value,
      'growth in the worst minute (%)': worstGrowth(way).value,
      'standard error of growth (%)': worstGrowth(way).standardError,
      runs: count,
    }),
  };
}

/** One run says nothing of its own error. */
const text = (estimate: Estimate): string =>
  estimate.standardError > 0 ? estimateText(estimate) : significant(estimate.value, 3);
