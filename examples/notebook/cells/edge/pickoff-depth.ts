/** Depth of the pick-off: its shadow against its star. */
import type { PickoffTradeOff, Rig } from '@holdfast/sim';
import { significant } from '@holdfast/sim/internal';
import { shown } from '../../../figures/number-words.ts';
import { type Book, invalidation, settled, signalOf } from '../../book.ts';
import type { Cell } from '../../cell.ts';
import { codeOf } from '../../code.ts';
import { mountOf } from '../../compute/pickoff-depths.ts';
import code from '../../compute/pickoff-depths.ts?raw';
import { controls, type NumberInput, rangeControl } from '../../controls.ts';
import { element, paragraph, source } from '../../element.ts';
import { plainChart } from '../../figures/plain-chart.ts';
import { valueAt } from '../../rig-form/rig-text.ts';

type Depths =
  | { readonly tradeOff: PickoffTradeOff; readonly predicted?: PickoffTradeOff }
  | { readonly message: string };

export const pickoffDepth: Cell = {
  id: 'pickoff-depth',
  title: 'How deep the pick-off should reach',
  content(book) {
    const shade = book.figure('shade-by-depth', 298);
    const error = book.figure('error-by-depth', 298);
    const limit = book.figure('limit-by-depth', 298);
    const ofRig = (path: string) => valueAt(book.rigForm.value, `pickoff.${path}`);
    const distance = rangeControl(book, 'mirrorDistance', {
      label: 'mirror to main sensor',
      unit: 'mm',
      extent: [10, 100],
      step: 0.5,
      value: Number(ofRig('mirror.distanceMm') ?? 40),
    });
    const allowed = rangeControl(book, 'allowedShade', {
      label: 'shadow that you accept',
      unit: '%',
      extent: [0, 20],
      step: 0.5,
      value: Number(ofRig('allowedLossPercent') ?? 2),
    });
    followPickoff(book, ({ mirror }) => mirror.distanceMm, distance);
    followPickoff(book, ({ allowedLossPercent }) => allowedLossPercent, allowed);
    book.define(
      'depths',
      ['edgeRig', 'edgeShift', 'mirrorDistance', 'allowedShade', invalidation],
      async function* (
        rig: Rig,
        focusShiftUm: number,
        distanceMm: number,
        allowedPercent: number,
        outdated: Promise<unknown>,
      ): AsyncGenerator<Depths> {
        const signal = signalOf(outdated);
        await book.seen('edge-of-field', signal);
        await settled(signal);
        try {
          const mount = mountOf(rig, distanceMm, allowedPercent);
          const depths = (withLimits: boolean) =>
            book.team('edge-of-field').run(signal, 'pickoffDepths', rig, mount, focusShiftUm, withLimits);
          const tradeOff = await depths(false);
          yield { tradeOff };
          yield { tradeOff, predicted: await depths(true) };
        } catch (failure) {
          signal.throwIfAborted();
          yield { message: `This pick-off cannot be: ${(failure as Error).message}.` };
        }
      },
    );
    const said = element('p', { class: 'answer state', role: 'status' });
    book.show(['depths'], (depths: Depths) => {
      const failed = 'message' in depths;
      said.classList.toggle('fault', failed);
      for (const { element: box } of [shade, error, limit]) box.hidden = failed;
      if (failed) {
        said.textContent = depths.message;
        return;
      }
      said.textContent = bestWords(depths.tradeOff);
      drawShade(shade, depths.tradeOff);
      drawError(error, depths.tradeOff, depths.predicted);
      if (depths.predicted !== undefined) drawLimit(limit, depths.predicted);
    });
    return [
      paragraph(
        'A pick-off is the small mirror that feeds the guide camera. The deeper it reaches toward the axis, the rounder and ' +
          'brighter its star, and the larger its shadow on the main sensor. Mirror, sensor and opening are those of your rig, or usual ' +
          'ones where the rig has no pick-off.',
      ),
      controls(distance, allowed),
      said,
      shade.element,
      error.element,
      limit.element,
      source(
        'Source: exact geometry of the cones of light past a thin flat mirror at 45°. Least possible error as in chapter 3. Error and limit of the rig’s method by formula.',
      ),
      codeOf('pickoff-depths.ts', code),
    ];
  },
};

/** A control starts from the rig's own pick-off, and goes back to it whenever that changes. */
function followPickoff(
  book: Book,
  of: (pickoff: NonNullable<Rig['pickoff']>) => number,
  control: NumberInput,
) {
  let last: number | undefined;
  book.show(['rig'], ({ pickoff }: Rig) => {
    const own = pickoff && of(pickoff);
    if (last !== undefined && own !== undefined && own !== last) {
      control.value = own;
      control.dispatchEvent(new CustomEvent('input'));
    }
    last = own;
  });
}

type Figure = ReturnType<Parameters<Cell['content']>[0]['figure']>;

function bestWords({ best, allowedLossPercent }: PickoffTradeOff): string {
  if (best === undefined)
    return shown(
      `No depth gives light to the guide star and keeps the shadow on every pixel below ${significant(allowedLossPercent, 2)} %.`,
    );
  const { edgeFromAxisMm, star, error } = best;
  return shown(
    `Best: inner edge ${edgeFromAxisMm.toFixed(1)} mm from the axis. Its star is ${star.offAxisMm.toFixed(1)} mm off the axis, keeps ` +
      `${significant(100 * star.keptFraction, 3)} % of its light` +
      `${error ? `, and can be located to ${significant(error.leastErrorArcsec, 2)}″ at best (the least possible error)` : ''}.`,
  );
}

function drawShade(figure: Figure, { depths, best, allowedLossPercent }: PickoffTradeOff): void {
  const worst = depths.map(({ edgeFromAxisMm, worstLoss }) => ({ x: edgeFromAxisMm, y: 100 * worstLoss }));
  const kept = depths.map(({ edgeFromAxisMm, star }) => ({ x: edgeFromAxisMm, y: 100 * star.keptFraction }));
  const mark = best && { x: best.edgeFromAxisMm, y: 100 * best.worstLoss, label: 'best' };
  figure.redraw(
    (options) =>
      plainChart(
        {
          alternative: shown(
            `Shadow on the worst pixel of the main sensor and light that the guide star keeps, against the depth. ${depths
              .filter((_, i) => i % 6 === 0)
              .map(
                ({ edgeFromAxisMm, worstLoss, star }) =>
                  `${edgeFromAxisMm.toFixed(1)} mm: shadow ${(100 * worstLoss).toFixed(1)} %, light ${(100 * star.keptFraction).toFixed(1)} %`,
              )
              .join('; ')}. ${bestWords({ depths, best, allowedLossPercent, focusShiftUm: 0 })}`,
          ),
          xLabel: 'inner edge of the mirror from the axis, mm',
          yLabel: '% of the light',
          fromZero: true,
          level: {
            y: allowedLossPercent,
            label: shown(`accepted shadow, ${significant(allowedLossPercent, 2)} %`),
          },
          lines: [
            {
              label: 'shadow on the worst pixel',
              ink: 'accent',
              dash: 'none',
              points: worst,
              ...(mark ? { mark } : {}),
            },
            { label: 'light that the star keeps', ink: 'second', dash: '7 3', points: kept },
          ],
        },
        options,
      ),
    [
      'Light that the worst pixel of the main sensor loses, and light that the guide star keeps. Left: the mirror is deep in the beam.',
    ],
  );
}

function drawError(
  figure: Figure,
  { depths, best, focusShiftUm }: PickoffTradeOff,
  predicted: PickoffTradeOff | undefined,
): void {
  const points = depths.flatMap(({ edgeFromAxisMm, error }) =>
    error ? [{ x: edgeFromAxisMm, y: error.leastErrorArcsec }] : [],
  );
  figure.element.hidden = points.length === 0;
  if (points.length === 0) return;
  const own = (predicted?.depths ?? []).flatMap(({ edgeFromAxisMm, limits }) =>
    limits?.noiseEquivalentArcsec === undefined
      ? []
      : [{ x: edgeFromAxisMm, y: limits.noiseEquivalentArcsec }],
  );
  const mark = best?.error && { x: best.edgeFromAxisMm, y: best.error.leastErrorArcsec, label: 'best' };
  const arcsec = ({ x, y }: { x: number; y: number }) => `${x.toFixed(1)} mm: ${significant(y, 2)} arcsec`;
  const told = points.filter((_, i) => i % 6 === 0).map(arcsec);
  const toldOwn =
    own.length > 0 ? ` Noise-equivalent error of the rig’s method: ${own.map(arcsec).join('; ')}.` : '';
  figure.redraw(
    (options) =>
      plainChart(
        {
          alternative: `Least possible error of the guide star’s position against the depth, ${focusShiftUm} µm out of focus: ${told.join('; ')}.${toldOwn}`,
          xLabel: 'inner edge of the mirror from the axis, mm',
          yLabel: 'error of the position, arcsec',
          fromZero: true,
          lines: [
            ...(own.length > 1
              ? [{ label: 'as this rig measures', ink: 'accent', dash: 'none', points: own } as const]
              : []),
            { label: 'least possible', ink: 'faint', dash: '5 3', points, ...(mark ? { mark } : {}) },
          ],
        },
        options,
      ),
    [
      shown(
        `Error of the rig’s guide star in the middle of the mirror, ${focusShiftUm} µm out of focus, one axis, with coma, clipped light and noise.`,
      ),
    ],
  );
}

function drawLimit(figure: Figure, { depths }: PickoffTradeOff): void {
  const points = depths.flatMap(({ edgeFromAxisMm, limits }) =>
    limits === undefined ? [] : [{ x: edgeFromAxisMm, y: limits.focusLimitUm }],
  );
  figure.element.hidden = points.length < 2;
  if (points.length < 2) return;
  const told = points.map(({ x, y }) => `${x.toFixed(1)} mm: ${significant(y, 2)} µm`);
  figure.redraw(
    (options) =>
      plainChart(
        {
          alternative: `Focus limit of the star that the pick-off sees, by formula, against its depth. ${told.join('; ')}.`,
          xLabel: 'inner edge of the mirror from the axis, mm',
          yLabel: 'focus limit, µm',
          fromZero: true,
          lines: [{ label: 'as this rig measures', ink: 'accent', dash: 'none', points }],
        },
        options,
      ),
    [
      'How far out of focus the star stays usable, for each depth. By formula, which does not count lost frames.',
    ],
  );
}
