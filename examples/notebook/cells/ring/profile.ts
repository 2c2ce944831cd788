/** The star on both sides of focus. */
import type { Rig } from '@holdfast/sim';
import { shown } from '../../../figures/number-words.ts';
import { invalidation, rigName, signalOf } from '../../book.ts';
import type { Cell } from '../../cell.ts';
import { codeOf } from '../../code.ts';
import type { ProfileSetting, RingProfile } from '../../compute/ring-profile.ts';
import code from '../../compute/ring-profile.ts?raw';
import { controls, rangeControl } from '../../controls.ts';
import { paragraph } from '../../element.ts';
import { ringRidge } from '../../figures/ring-ridge.ts';

export const profile: Cell = {
  id: 'light-through-focus',
  title: 'Through focus',
  content(book) {
    const figure = book.figure('ring-profiles', 486);
    const shift = rangeControl(book, 'shift', {
      label: 'largest focus shift',
      unit: 'µm',
      extent: [0, 1500],
      step: 5,
      value: 400,
    });
    const obstruction = rangeControl(book, 'obstruction', {
      label: 'obstruction ratio',
      extent: [0, 0.6],
      step: 0.01,
      value: 0.35,
    });
    const clip = rangeControl(book, 'clip', {
      label: 'edge that clips the beam, radii',
      extent: [0, 1],
      step: 0.01,
      value: 1,
    });
    book.define(
      'pupil',
      ['obstruction', 'clip'],
      (obstructionRatio: number, clipDistance: number): ProfileSetting => ({
        obstructionRatio,
        clipDistance,
      }),
    );
    book.define(
      'profiles',
      [rigName('why-a-ring'), 'shift', 'pupil', invalidation],
      (rig: Rig, largest: number, pupil: ProfileSetting, outdated: Promise<unknown>) => {
        const signal = signalOf(outdated);
        const shifts = [-1, -2 / 3, -1 / 3, 0, 1 / 3, 2 / 3, 1].map((part) => Math.round(part * largest));
        return book.team('why-a-ring', 'ring-profiles').runFirst(signal, 'ringProfiles', rig, shifts, pupil);
      },
    );
    book.show(['profiles', 'pupil'], (profiles: readonly RingProfile[], { clipDistance }: ProfileSetting) => {
      const walk = Math.max(...profiles.map(({ centerOfMassPx }) => Math.abs(centerOfMassPx)));
      figure.redraw(
        (options) => ringRidge(profiles, options),
        [
          'Expected light along the row of pixels through the star. Above: ahead of focus. Below: beyond focus. Each line is scaled ' +
            'to its own peak. Squares: center of mass of all the light. ',
          clipDistance < 1
            ? shown(
                `The edge takes light from one side of the ring, and the center of mass moves by up to ${walk.toFixed(2)} px: ` +
                  `to one side ahead of focus, to the other side beyond it.`,
              )
            : 'The center stays where the star is.',
        ],
      );
    });
    return [
      paragraph(
        'Out of focus the star becomes a picture of the telescope’s aperture: a ring. The center of mass of its light stays in ' +
          'place however large the ring is, and the loop follows that center. A beam that is clipped on one side breaks this rule. ' +
          'Try the third slider: at 1 the whole beam passes, at 0 half of it.',
      ),
      controls(shift, obstruction, clip),
      figure.element,
      codeOf('ring-profile.ts', code),
    ];
  },
};
