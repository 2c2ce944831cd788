/** The star as the camera sees it. */
import { estimatorLabels } from '@holdfast/sim';
import { starStripFigure } from '../../figures/star-strip.ts';
import type { Cell } from '../cell.ts';
import { paragraph } from '../element.ts';

export const stars: Cell = {
  id: 'star',
  title: 'The star as the camera sees it',
  content(report, sheet) {
    const { advice, rig } = report;
    const ring =
      rig.telescope.obstructionRatio > 0 ? 'a ring, dark where the secondary mirror shades it' : 'a disc';
    return [
      paragraph(
        `Out of focus the star’s light spreads over ${ring}. The same electrons fall on more pixels, each with its own ` +
          'noise; the position must come from the whole of them.',
      ),
      sheet.figure({
        file: 'star-by-focus-shift',
        caption: [
          'One simulated guide frame at each of five focus shifts, all to one scale, a square a pixel. Ink goes with the ' +
            'electrons above the background, from the faintest tenth of a plate (paper) to its brightest pixel (full ink). ' +
            'Ticks outside the frame: where the star truly is. Ticks inside: where the ' +
            `${estimatorLabels[advice.estimator]} puts it in this one frame.`,
        ],
        draw: (options) => starStripFigure(report, options),
      }),
    ];
  },
};
