/** The star as the camera sees it. */
import type { Rig } from '@holdfast/sim';
import { estimatorLabels } from '@holdfast/sim/internal';
import { starStripFigure } from '../../../figures/star-strip.ts';
import type { Cell } from '../../cell.ts';
import type { LiveReport } from '../../compute/live-report.ts';
import { paragraph } from '../../element.ts';
import { newsOf } from '../../news.ts';

export const stars: Cell = {
  id: 'star',
  title: 'The star as the camera sees it',
  content(book) {
    const figure = book.figure('star-by-focus-shift', 300);
    const isNew = newsOf();
    book.show(['live'], (live: LiveReport) => {
      const { stars, curve } = live;
      figure.element.classList.toggle('stale', stars === undefined);
      if (stars !== undefined && curve !== undefined && isNew(stars))
        figure.redraw(
          (options) => starStripFigure({ ...live, stars, curve }, options),
          [
            'One simulated guide frame at each of five focus shifts, all to the same scale, one square per pixel. Shades run from ' +
              'the background to the brightest pixel of each frame. Ticks outside the frame: true position. Ticks inside: position measured in this frame by ' +
              `the ${estimatorLabels[live.advice.estimator]}.`,
          ],
        );
    });
    return [
      paragraph(
        'Out of focus the star’s light spreads over ',
        book.text(['rig'], ({ telescope }: Rig) =>
          telescope.obstructionRatio > 0 ? 'a ring, dark where the secondary mirror shades it' : 'a disk',
        ),
        '. The same electrons fall on more pixels, and each pixel adds its own noise.',
      ),
      figure.element,
    ];
  },
};
