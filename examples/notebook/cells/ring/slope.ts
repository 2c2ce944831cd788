/** Why: the mean slope of the wave. */
import type { Rig } from '@holdfast/sim';
import { shown } from '../../../figures/number-words.ts';
import { rigName } from '../../book.ts';
import type { Cell } from '../../cell.ts';
import { fNumberOf, pixelUmOf } from '../../compute/derived.ts';
import { meanSlopeUm, type ProfileSetting } from '../../compute/ring-profile.ts';
import { paragraph, source } from '../../element.ts';
import { plainFixed } from '../../figures/fixed.ts';
import { type WaveSlope, waveSlope } from '../../figures/wave-slope.ts';
import { formula, math } from '../../tex.ts';

export const slope: Cell = {
  id: 'mean-slope',
  title: 'The mean slope of the wave',
  content(book) {
    const figure = book.figure('wave-slope', 278);
    book.define(
      'wave',
      [rigName('why-a-ring'), 'shift', 'pupil'],
      (rig: Rig, focusShiftUm: number, pupil: ProfileSetting): WaveSlope => ({
        focusShiftUm,
        fNumber: fNumberOf(rig),
        ...pupil,
        meanSlopeUm: meanSlopeUm(rig, focusShiftUm, pupil),
        pixelUm: pixelUmOf(rig),
      }),
    );
    book.show(['wave'], (wave: WaveSlope) =>
      figure.redraw(
        (options) => waveSlope(wave, options),
        [
          'A line across the pupil: the delay of the wave, and where its light lands on the sensor, which is the ' +
            'slope of the delay. Shaded: no light passes. ',
          shown(
            `The mean over all light of the pupil is at ${plainFixed(wave.meanSlopeUm, 2)} µm, ` +
              `${plainFixed(wave.meanSlopeUm / wave.pixelUm, 2)} px.`,
          ),
        ],
      ),
    );
    return [
      paragraph(
        'The slope of the wave’s delay ',
        math`W`,
        ' at the point ',
        math`\xi`,
        ' of the pupil decides where the light from there lands. The center of mass of all the light is therefore the mean slope,',
      ),
      formula`\bar{x} = 2F \left\langle \frac{\partial W}{\partial \xi} \right\rangle , \qquad W = -\frac{\Delta z}{8 F^2}\, \xi^2 ,`,
      paragraph(
        'with the F-number ',
        math`F`,
        ' and the focus shift ',
        math`\Delta z`,
        '. Out of focus the slopes on opposite sides have opposite signs. They cancel as long as both sides get light.',
      ),
      figure.element,
      source(
        'Source: M. R. Teague, J. Opt. Soc. Am. 72, 1199 (1982); V. N. Mahajan, J. Opt. Soc. Am. A 2, 833 (1985); both from memory.',
      ),
    ];
  },
};
