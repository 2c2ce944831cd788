/** The star as the camera sees it. */
import type { Rig } from '@holdfast/sim';
import { estimatorLabels } from '@holdfast/sim/internal';
import { starStripFigure } from '../../../figures/star-strip.ts';
import type { Cell } from '../../cell.ts';
import type { LiveReport } from '../../compute/live-report.ts';
import { paragraph } from '../../element.ts';

export const stars: Cell = {
  id: 'star',
  title: 'The star as the camera sees it',
  content(book) {
    const figure = book.figure('star-by-focus-shift', 720);
    book.show(['live'], (live: LiveReport) => {
      const { stars, curve } = live;
      figure.element.classList.toggle('stale', stars === undefined);
      if (stars !== undefined && curve !== undefined)
        figure.redraw(
          (options) => starStripFigure({ ...live, stars, curve }, options),
          [
            'One simulated guide frame at each of five focus shifts, all to one scale, a square a pixel. Ink goes with the ' +
              'electrons above the background, from the faintest tenth of a plate (paper) to its brightest pixel (full ink). ' +
              'Ticks outside the frame: where the star truly is. Ticks inside: where the ' +
              `${estimatorLabels[live.advice.estimator]} puts it in this one frame.`,
          ],
        );
    });
    return [
      paragraph(
        'Out of focus the star’s light spreads over ',
        book.text(['rig'], ({ telescope }: Rig) =>
          telescope.obstructionRatio > 0 ? 'a ring, dark where the secondary mirror shades it' : 'a disc',
        ),
        '. The same electrons fall on more pixels, each with its own noise; the position must come from the whole of them.',
      ),
      figure.element,
    ];
  },
};
