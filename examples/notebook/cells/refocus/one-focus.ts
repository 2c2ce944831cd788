/** The one setting of the guide camera for all filters, and what a cooling tube does to it. */
import { thermalDrift } from '@holdfast/sim';
import { shown } from '../../../figures/number-words.ts';
import { drivenByTemperature, guideFocusLines } from '../../../reports/guide-focus-text.ts';
import type { Cell } from '../../cell.ts';
import type { LiveReport } from '../../compute/live-report.ts';
import { element, paragraph } from '../../element.ts';

export const oneFocus: Cell = {
  id: 'one-focus',
  title: 'One focus for every filter',
  content(book) {
    const best = element('div', {}, paragraph('This is simulated last, after the answer above.'));
    const drift = paragraph();
    book.show(['live'], ({ whole, rig }: LiveReport) => {
      best.classList.toggle('stale', whole === undefined);
      if (whole === undefined) return;
      best.replaceChildren(...guideFocusLines(whole.bestGuideFocus).map((line) => paragraph(shown(line))));
      const thermal = thermalDrift(rig);
      drift.replaceChildren(thermal ? shown(drivenByTemperature(thermal)) : '');
    });
    return [
      paragraph(
        'Filters of different glass put the guide camera out of focus, to both sides. One setting can serve them all: the setting ' +
          'that keeps the worst filter furthest inside its budget.',
      ),
      best,
      drift,
    ];
  },
};
