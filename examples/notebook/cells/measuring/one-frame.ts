/** One frame, measured in every way. */
import type { Rig, SceneSetting } from '@holdfast/sim';
import { significant } from '@holdfast/sim/internal';
import { shown } from '../../../figures/number-words.ts';
import { invalidation, rigName, signalOf } from '../../book.ts';
import type { Cell } from '../../cell.ts';
import { codeOf } from '../../code.ts';
import { liveSeed } from '../../compute/cell-of.ts';
import type { MeasuredFrame } from '../../compute/one-frame.ts';
import code from '../../compute/one-frame.ts?raw';
import { controls, pressControl } from '../../controls.ts';
import { paragraph } from '../../element.ts';
import { framePlate } from '../../figures/frame-plate.ts';

export const oneFrame: Cell = {
  id: 'one-frame',
  title: 'One frame',
  content(book) {
    const figure = book.figure('one-noisy-frame', 444);
    const another = pressControl(book, 'trial', 'another frame');
    book.define(
      'measuredFrame',
      [rigName('which-way'), 'measured', 'trial', invalidation],
      (rig: Rig, setting: SceneSetting, trial: number, outdated: Promise<unknown>) =>
        book
          .team('which-way', 'one-noisy-frame')
          .runFirst(signalOf(outdated), 'oneFrame', rig, setting, liveSeed, trial),
    );
    book.show(
      ['measuredFrame', 'measured', 'trial'],
      (frame: MeasuredFrame, setting: SceneSetting, trial: number) =>
        figure.redraw(
          (options) => framePlate(frame, options),
          [
            shown(
              `Frame ${trial + 1} of a star with SNR ${setting.snr}, ${significant(setting.focusShiftUm, 3)} µm out of focus, ` +
                `background subtracted; one square per pixel. Seed “${liveSeed}”.`,
            ),
          ],
        ),
    );
    return [
      paragraph(
        'All methods measure the same pixels. Which one comes closest changes from frame to frame: press the button a few times. Ring and ' +
          'SNR are set in 3.1.',
      ),
      controls(another),
      figure.element,
      codeOf('one-frame.ts', code),
    ];
  },
};
