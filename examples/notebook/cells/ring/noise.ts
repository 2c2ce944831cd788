/** The price: noise that grows with the ring. */
import type { EstimatorName, Rig } from '@holdfast/sim';
import { shown } from '../../../figures/number-words.ts';
import { invalidation, rigName, signalOf } from '../../book.ts';
import type { Cell } from '../../cell.ts';
import { codeOf } from '../../code.ts';
import { type ErrorLines, errorLines } from '../../compute/error-lines.ts';
import code from '../../compute/error-lines.ts?raw';
import type { ProfileSetting } from '../../compute/ring-profile.ts';
import { paragraph, source } from '../../element.ts';
import { errorChart, trialWords } from '../../figures/error-chart.ts';
import { type ChartLine, lineChart } from '../../figures/line-chart.ts';
import { formula, math } from '../../tex.ts';

const chapter = 'why-a-ring';

export const noise: Cell = {
  id: 'growing-noise',
  title: 'What a ring costs',
  content(book) {
    const figure = book.figure('noise-of-a-ring', 358);
    book.define(
      'ringErrors',
      [rigName(chapter), 'shift', 'pupil', 'frames', invalidation],
      (rig: Rig, shift: number, pupil: ProfileSetting, frames: string, outdated: Promise<unknown>) => {
        const signal = signalOf(outdated);
        const farthest = Math.max(20, shift);
        const points = Array.from({ length: 9 }, (_, i) => {
          const x = Math.round((farthest * i) / 8);
          return { x, setting: { focusShiftUm: x, ...pupil } };
        });
        return errorLines(
          rig,
          points,
          shift,
          ['centerOfMass'],
          Number(frames),
          book.team(chapter, 'noise-of-a-ring'),
          signal,
          book.seen(chapter, signal),
        );
      },
    );
    book.show(
      ['ringErrors', rigName(chapter), 'pupil'],
      (errors: ErrorLines, rig: Rig, { obstructionRatio }: ProfileSetting) => {
        const chart = errorChart(errors, {
          title: 'Noise-equivalent error of the center of mass against the focus shift',
          xLabel: 'focus shift, µm',
          at: (x) => `At ${x} µm`,
          own: 'centerOfMass' satisfies EstimatorName,
        });
        const photons: ChartLine = {
          label: 'photons alone',
          style: { ink: 'faint', dash: '2 2.5' },
          curve: photonLine(errors, obstructionRatio),
        };
        figure.redraw(
          (options) => lineChart({ ...chart, lines: [...chart.lines, photons] }, options),
          [
            shown(
              `Noise-equivalent error of the center of mass, one axis, for a star of magnitude ${rig.guideStar.magnitude}. Dotted: its error ` +
                `from photon noise alone. Shaded area: less than the least possible error of any method. ${trialWords(errors)}`,
            ),
          ],
        );
      },
    );
    return [
      paragraph(
        'The ring stays in place, but each photon says less about its position. With ',
        math`N`,
        ' photons in a ring of outer radius ',
        math`R`,
        ', blurred by ',
        math`s`,
        ' (one axis), and with the variance ',
        math`b`,
        ' of the background in each of the ',
        math`\pi r^2`,
        ' pixels that are summed,',
      ),
      formula`\sigma_x^2 \approx \frac{s^2 + \tfrac14 R^2 \left(1 + \varepsilon^2\right)}{N} + \frac{\pi r^4\, b}{4 N^2} .`,
      paragraph(
        'The error from photons (first term) grows in proportion to the ring. That from sky and read noise (second term) grows as ' +
          'its square. A large obstruction puts the light farther out. That is worse for the center of mass but better for the least ' +
          'possible error, since edges fix a position.',
      ),
      figure.element,
      source('Source: propagation of independent pixel noise through the sums of the center of mass.'),
      codeOf('error-lines.ts', code),
    ];
  },
};

/** The first term of the formula, with the light and blur of each scene. */
function photonLine({ bound }: ErrorLines, obstructionRatio: number): ChartLine['curve'] {
  return bound.map(({ x, blurFwhmPx, outerDiameterPx, fluxE }) => {
    const blur = blurFwhmPx / (2 * Math.sqrt(2 * Math.log(2)));
    const radius = outerDiameterPx / 2;
    const spread = blur * blur + (radius * radius * (1 + obstructionRatio * obstructionRatio)) / 4;
    return { x, y: Math.sqrt(spread / fluxE) };
  });
}
