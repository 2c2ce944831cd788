/** A thousand frames. */
import type { Rig, SceneSetting } from '@holdfast/sim';
import { significant } from '@holdfast/sim/internal';
import { shown } from '../../../figures/number-words.ts';
import { invalidation, rigName, settled, signalOf } from '../../book.ts';
import type { Cell } from '../../cell.ts';
import { codeOf } from '../../code.ts';
import { liveSeed } from '../../compute/cell-of.ts';
import type { PositionCloud } from '../../compute/position-cloud.ts';
import code from '../../compute/position-cloud.ts?raw';
import { firstLookMs, wantedOf } from '../../compute/rounds.ts';
import { paragraph } from '../../element.ts';
import { cloudPlates } from '../../figures/cloud-plates.ts';

const chapter = 'which-way';
/** Frames of the cloud: the first few at once. */
const frames = [16, 128, 1000] as const;

export interface Cloud {
  readonly clouds: readonly PositionCloud[];
  readonly boundPx: number;
  readonly trials: number;
  readonly setting: SceneSetting;
}

export const cloud: Cell = {
  id: 'a-thousand-frames',
  title: 'A thousand frames',
  content(book) {
    const figure = book.figure('position-clouds', 1180);
    book.define(
      'clouds',
      [rigName(chapter), 'measured', invalidation],
      async function* (rig: Rig, setting: SceneSetting, outdated: Promise<unknown>): AsyncGenerator<Cloud> {
        const signal = signalOf(outdated);
        const team = book.team(chapter, 'position-clouds');
        for (const trials of wantedOf(frames)) {
          const options = { seed: liveSeed, trials };
          if (trials > frames[0]) await book.seen(chapter, signal);
          if (trials <= frames[1]) await settled(signal, firstLookMs);
          const found =
            trials === frames[0]
              ? await team.runFirst(signal, 'positionCloud', rig, setting, options)
              : await team.run(signal, 'positionCloud', rig, setting, options);
          yield { ...found, trials, setting };
        }
      },
    );
    book.show(['clouds'], ({ clouds, boundPx, trials, setting }: Cloud) =>
      figure.redraw(
        (options) => cloudPlates(clouds, boundPx, options),
        [
          shown(
            `Measured minus true position in ${trials} frames of the star above (SNR ${setting.snr}), one point per frame, with histograms along the axes. ` +
              `The ellipse contains 68 % of a normal cloud. Least possible error, one axis: ${significant(boundPx, 2)} px. “Beyond”: points outside the axes.`,
          ),
        ],
      ),
    );
    return [
      paragraph(
        'The positions of many frames form a cloud. Its distance from 0 is the offset, and its size is the scatter. A constant ' +
          'offset is harmless; scatter becomes guide error. A lost frame gives no point.',
      ),
      figure.element,
      codeOf('position-cloud.ts', code),
    ];
  },
};
