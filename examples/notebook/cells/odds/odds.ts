/** The faintest star that will do, and the odds of one in the guide field, against the focus shift. */
import type { FaintestStar, GuideStarLimit, GuideStarOdds, Interval, Rig } from '@holdfast/sim';
import { guideStarOddsOf, significant } from '@holdfast/sim/internal';
import { shown } from '../../../figures/number-words.ts';
import { invalidation, rigName, settled, signalOf } from '../../book.ts';
import type { Cell } from '../../cell.ts';
import { codeOf } from '../../code.ts';
import { liveSeed } from '../../compute/cell-of.ts';
import { wantedOf } from '../../compute/rounds.ts';
import code from '../../compute/star-limits.ts?raw';
import { controls, rangeControl } from '../../controls.ts';
import { element, paragraph, source } from '../../element.ts';
import { plainChart } from '../../figures/plain-chart.ts';
import type { TableBox } from '../../table-box.ts';
import { formula, math } from '../../tex.ts';

const chapter = 'is-there-a-star';
/** Simulated frames at each magnitude tried: few at first. */
const rounds = [64, 256] as const;
const parts = [0, 0.25, 0.5, 0.75, 1];

interface Limits {
  readonly limits: readonly GuideStarLimit[];
  readonly trials: number;
}

export const odds: Cell = {
  id: 'odds-of-a-star',
  title: 'How faint, and how likely',
  content(book) {
    const faintest = book.figure('faintest-star', 298);
    const likely = book.figure('odds-by-focus', 298);
    const table = book.table<GuideStarOdds>('odds-of-a-star-table');
    const latitude = rangeControl(book, 'latitude', {
      label: 'galactic latitude',
      unit: '°',
      extent: [0, 90],
      step: 1,
      value: 60,
    });
    const shift = rangeControl(book, 'oddsShift', {
      label: 'largest focus shift',
      unit: 'µm',
      extent: [20, 1000],
      step: 10,
      value: 800,
    });
    book.define(
      'starLimits',
      [rigName(chapter), 'oddsShift', invalidation],
      async function* (rig: Rig, largest: number, outdated: Promise<unknown>): AsyncGenerator<Limits> {
        const signal = signalOf(outdated);
        await book.seen(chapter, signal);
        await settled(signal);
        for (const trials of wantedOf(rounds)) {
          const limits = await Promise.all(
            parts.map((part) =>
              book.team(chapter).run(signal, 'starLimit', rig, Math.round(part * largest), liveSeed, trials),
            ),
          );
          yield { limits, trials };
        }
      },
    );
    const said = element('p', { class: 'answer' });
    book.show(
      ['starLimits', 'latitude', rigName(chapter)],
      ({ limits, trials }: Limits, galacticLatitudeDeg: number, rig: Rig) => {
        const all = limits.map((limit) => guideStarOddsOf(rig, limit, { galacticLatitudeDeg }));
        said.replaceChildren(answerWords(all[0], all[all.length - 1], galacticLatitudeDeg));
        drawFaintest(faintest, limits, trials);
        drawOdds(likely, all, galacticLatitudeDeg);
        table.redraw(tableOf(all));
      },
    );
    return [
      paragraph(
        'Galactic latitude is the angle from the plane of the Milky Way: there are many stars near 0° and few near 90°. A star is ' +
          'usable when its SNR is at least 10 and its error is within the budget of the rig. With ',
        math`N`,
        ' usable stars expected per field, the probability of at least one is',
      ),
      formula`P = 1 - e^{-N} ,`,
      paragraph(
        'averaged over the uncertainty of the star counts. Turning the pick-off, or moving the picture a little, gives more fields.',
      ),
      controls(latitude, shift),
      said,
      faintest.element,
      likely.element,
      table.element,
      source(
        'Source: star counts of J. N. Bahcall and R. M. Soneira, Astrophys. J. Suppl. 44, 73 (1980), for latitudes from 20° on; ' +
          'below that Allen’s Astrophysical Quantities. Assumes randomly placed stars: no clusters and no dark clouds.',
      ),
      codeOf('star-limits.ts', code),
    ];
  },
};

type Figure = ReturnType<Parameters<Cell['content']>[0]['figure']>;

/** Nothing is certain: what rounds to 100 is said to be more than the last number before it. */
const percentOf = (share: number): string =>
  share > certain ? 'more than 99.9' : significant(100 * share, share > 0.99 ? 3 : 2);
const certain = 0.9995;
const intervalOfPercent = ({ value, low, high }: Interval, name = ''): string =>
  `${percentOf(value)} %${low > certain ? '' : ` (${name}${percentOf(low)} to ${percentOf(high)} %)`}`;
const brightness = (star: FaintestStar | undefined): string => (star ? star.magnitude.toFixed(1) : 'none');

function answerWords(inFocus: GuideStarOdds, farthest: GuideStarOdds, latitude: number): string {
  const [one] = inFocus.chances;
  const [far] = farthest.chances;
  return shown(
    `At ${latitude}° the probability of a usable star in the guide field is ${intervalOfPercent(one.atLeastOne, '95 % interval ')} in focus, and ` +
      `${intervalOfPercent(far.atLeastOne, '95 % interval ')} when ${significant(farthest.limit.focusShiftUm, 3)} µm out of focus.`,
  );
}

function drawFaintest(figure: Figure, limits: readonly GuideStarLimit[], trials: number): void {
  const line = (pick: (limit: GuideStarLimit) => FaintestStar | undefined) =>
    limits.flatMap((limit) => {
      const star = pick(limit);
      return star ? [{ x: limit.focusShiftUm, y: star.magnitude }] : [];
    });
  const usable = line(({ usable }) => usable);
  const least = line(({ leastError }) => leastError);
  const detected = line(({ detected }) => detected);
  const told = limits.map(
    ({ focusShiftUm, usable, leastError }) =>
      `${focusShiftUm} µm: usable to magnitude ${brightness(usable)}, with the least possible error to ${brightness(leastError)}`,
  );
  figure.redraw(
    (options) =>
      plainChart(
        {
          alternative: `Faintest guide star against the focus shift. ${told.join('; ')}.`,
          xLabel: 'focus shift, µm',
          yLabel: 'V magnitude',
          leastRange: 1,
          lines: [
            ...(usable.length > 0
              ? [
                  {
                    label: 'usable, as this rig measures',
                    ink: 'accent',
                    dash: 'none',
                    points: usable,
                  } as const,
                ]
              : []),
            { label: 'seen with an SNR of 10', ink: 'third', dash: '2 2.5', points: detected },
            ...(least.length > 0
              ? [
                  {
                    label: 'within the budget with the least possible error',
                    ink: 'faint',
                    dash: '5 3',
                    points: least,
                  } as const,
                ]
              : []),
          ],
        },
        options,
      ),
    [
      `The faintest usable star; a larger magnitude is a fainter star. ${trials} simulated frames per magnitude, good to about 0.1 mag.`,
    ],
  );
}

const inks = ['accent', 'second', 'third', 'ink'] as const;
const dashes = ['none', '7 3', '2 2.5', '9 3 2 3'];

function drawOdds(figure: Figure, all: readonly GuideStarOdds[], latitude: number): void {
  const lines = all[0].chances.map(({ positions }, i) => ({
    label: positions === 1 ? 'one field' : `${positions} fields`,
    ink: inks[i % inks.length],
    dash: dashes[i % dashes.length],
    points: all.map(({ limit, chances }) => ({
      x: limit.focusShiftUm,
      y: 100 * chances[i].atLeastOne.value,
    })),
  }));
  const told = all.map(
    ({ limit, chances: [one] }) =>
      `${limit.focusShiftUm} µm: ${intervalOfPercent(one.atLeastOne)} in one field`,
  );
  figure.redraw(
    (options) =>
      plainChart(
        {
          alternative: `Probability of a usable guide star against the focus shift at galactic latitude ${latitude}°. ${told.join('; ')}.`,
          xLabel: 'focus shift, µm',
          yLabel: 'at least one star, %',
          fromZero: true,
          lines,
        },
        options,
      ),
    [
      `Probability of at least one usable star at a galactic latitude of ${latitude}°, with one or more fields to choose from.`,
    ],
  );
}

function tableOf(all: readonly GuideStarOdds[]): TableBox<GuideStarOdds> {
  return {
    caption: [
      'Usable stars in one guide field against the focus shift. In brackets: 95 % interval of the star counts.',
    ],
    columns: [
      { head: 'focus shift', isHead: true, cell: ({ limit }) => [shown(`${limit.focusShiftUm} µm`)] },
      { head: 'faintest star', unit: 'mag', isNumber: true, cell: ({ limit }) => [brightness(limit.usable)] },
      {
        head: 'stars expected',
        isNumber: true,
        cell: ({ chances: [{ expectedStars }] }) => [
          significant(expectedStars.value, 2),
          `(${significant(expectedStars.low, 2)} to ${significant(expectedStars.high, 2)})`,
        ],
      },
      {
        head: 'at least one',
        isNumber: true,
        cell: ({ chances: [{ atLeastOne }] }) => shown(intervalOfPercent(atLeastOne)).split(/ (?=\()/),
      },
      {
        head: 'fields for 95 %',
        isNumber: true,
        cell: ({ positionsFor95 }) => [positionsFor95 === undefined ? 'none' : String(positionsFor95)],
      },
    ],
    rows: all,
    record: ({ limit, chances: [one], positionsFor95 }) => ({
      'focus shift (um)': limit.focusShiftUm,
      'faintest usable star (mag)': limit.usable?.magnitude,
      'stars expected in a field': one.expectedStars.value,
      'stars expected, low 95 %': one.expectedStars.low,
      'stars expected, high 95 %': one.expectedStars.high,
      'probability of at least one': one.atLeastOne.value,
      'fields for 95 %': positionsFor95,
    }),
  };
}
