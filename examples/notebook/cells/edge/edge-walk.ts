/** Focus that looks like motion. */
import type { Rig } from '@holdfast/sim';
import { shown } from '../../../figures/number-words.ts';
import { invalidation, signalOf } from '../../book.ts';
import type { Cell } from '../../cell.ts';
import { element, paragraph, source } from '../../element.ts';
import { plainFixed } from '../../figures/fixed.ts';
import { plainChart } from '../../figures/plain-chart.ts';
import { formula, math } from '../../tex.ts';

interface Walk {
  readonly cut: { x: number; y: number }[];
  readonly whole: { x: number; y: number }[];
  readonly clipDistance: number;
}

export const edgeWalk: Cell = {
  id: 'star-that-walks',
  title: 'A star that walks with focus',
  content(book) {
    const figure = book.figure('walk-through-focus', 298);
    book.define(
      'walk',
      ['edgeRig', 'edgeShift', invalidation],
      async (rig: Rig, largest: number, outdated: Promise<unknown>): Promise<Walk> => {
        const signal = signalOf(outdated);
        const reach = Math.max(1, largest);
        const shifts = [-1, -0.75, -0.5, -0.25, 0, 0.25, 0.5, 0.75, 1].map((part) => part * reach);
        const { offAxis } = rig;
        const whole = offAxis ? { ...rig, offAxis: { ...offAxis, clipDistance: 1 } } : rig;
        const team = book.team('edge-of-field', 'walk-through-focus');
        const [cut, uncut] = await Promise.all([
          team.runFirst(signal, 'walkThroughFocus', rig, shifts),
          team.runFirst(signal, 'walkThroughFocus', whole, shifts),
        ]);
        return { cut, whole: uncut, clipDistance: offAxis?.clipDistance ?? 1 };
      },
    );
    const said = element('p');
    book.show(['walk'], ({ cut, whole, clipDistance }: Walk) => {
      const span = (points: typeof cut) => points[points.length - 1].y - points[0].y;
      said.replaceChildren(
        shown(
          `From ${Math.round(cut[0].x)} to +${Math.round(cut[cut.length - 1].x)} µm this star walks by ` +
            `${plainFixed(span(cut), 2)} px; with the whole beam it would walk by ${plainFixed(span(whole), 2)} px. A loop that ` +
            `keeps guiding during a focus run mistakes that for motion and moves the telescope.`,
        ),
      );
      const told = [cut[0], cut[4], cut[8]].map(({ x, y }) => `${Math.round(x)} µm: ${plainFixed(y, 3)} px`);
      figure.redraw(
        (options) =>
          plainChart(
            {
              alternative: shown(
                `Center of the star’s light against the focus shift, edge at ${clipDistance} radii. ${told.join('; ')}. ` +
                  `With the whole beam ${plainFixed(whole[0].y, 3)} to ${plainFixed(whole[8].y, 3)} px.`,
              ),
              xLabel: 'focus shift, µm',
              yLabel: 'center of the light, px',
              leastRange: 0.4,
              lines: [
                { label: 'the clipped beam', ink: 'accent', dash: 'none', points: cut },
                { label: 'the whole beam', ink: 'faint', dash: '5 3', points: whole },
              ],
            },
            options,
          ),
        [
          'Center of mass of the light, measured from a perfect star and away from the axis. The offset in focus is that of the ' +
            'comet.',
        ],
      );
    });
    return [
      paragraph(
        'A clipped beam has more light on one side of the pupil. The mean place of the light, ',
        math`\langle \xi \rangle`,
        ', is then not zero, and the center of the star moves by',
      ),
      formula`\Delta\bar{x} = -\frac{\Delta z}{2F} \langle \xi \rangle`,
      paragraph('for a focus shift ', math`\Delta z`, '.'),
      said,
      figure.element,
      source('Source: mean wavefront slope, as in chapter 2.'),
    ];
  },
};
