/** The same in time. */
import { plateScaleArcsecPerPx } from '@holdfast/psf';
import type { Rig } from '@holdfast/sim';
import { rigName } from '../../book.ts';
import type { Cell } from '../../cell.ts';
import { fNumberOf } from '../../compute/derived.ts';
import { paragraph } from '../../element.ts';
import { type Moment, momentPlate } from '../../figures/moment.ts';
import { inputValues } from '../../input-values.ts';
import { player } from '../../player.ts';
import type { Guided } from './guided-through.ts';

export const inTime: Cell = {
  id: 'in-time',
  title: 'Watch one run',
  content(book) {
    const figure = book.figure('moment-of-the-run', 266);
    const time = player('time', 75);
    const restored = book.state.restored('time');
    if (typeof restored === 'number') time.value = restored;
    time.dataset['control'] = 'time';
    book.keep('time', time, 75);
    book.define('time', [], () => inputValues(time));
    book.show(['guided'], ({ runs }: Guided) => time.setLength(runs.ways[0].result.durationS));
    book.define('reach', ['guided'], ({ runs }: Guided) =>
      reachOf(runs.ways.map(({ result }) => result.series)),
    );
    book.show(
      ['guided', 'reach', 'time', rigName('through-a-focus-run')],
      ({ runs }: Guided, reachArcsec: number, timeS: number, rig: Rig) => {
        const arcsecOfUm = plateScaleArcsecPerPx({
          pixelSizeUm: 1,
          focalLengthMm: rig.telescope.focalLengthMm,
        });
        const moment: Moment = {
          runs,
          timeS,
          arcsecPerUm: arcsecOfUm / fNumberOf(rig),
          blurArcsec: rig.sky.seeingFwhmArcsec,
          obstructionRatio: rig.telescope.obstructionRatio,
          reachArcsec,
        };
        figure.redraw(
          (options) => momentPlate(moment, options),
          [
            'Distance of the telescope from the set point: now (thick) and in the last half minute (thin). ' +
              'The filled shape is the guide star: it grows and shrinks with the focus shift.',
          ],
        );
      },
    );
    return [
      paragraph('Play the first run at twelve times its speed, or set the time by hand.'),
      time,
      figure.element,
    ];
  },
};

/** A round distance that holds every path. */
function reachOf(series: readonly { errorX: Float64Array; errorY: Float64Array }[]): number {
  let farthest = 0;
  for (const { errorX, errorY } of series)
    for (let i = 0; i < errorX.length; i++)
      farthest = Math.max(farthest, Math.sqrt(errorX[i] ** 2 + errorY[i] ** 2));
  return (
    [1, 2, 3, 4, 5, 6, 8, 10, 15, 20, 30, 50].find((reach) => reach >= 1.05 * farthest) ?? Math.ceil(farthest)
  );
}
