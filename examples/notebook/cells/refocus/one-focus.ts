/** The one setting of the guide camera for all filters, and what a cooling tube does to it. */
import { thermalDrift } from '@holdfast/sim';
import { shown } from '../../../figures/number-words.ts';
import { drivenByTemperature, guideFocusLines } from '../../../reports/guide-focus-text.ts';
import type { Cell } from '../../cell.ts';
import type { LiveReport } from '../../compute/live-report.ts';
import { element, paragraph } from '../../element.ts';
import type { CompleteRig } from '../../rig-form/complete-rig.ts';

export const oneFocus: Cell = {
  id: 'one-focus',
  title: 'One focus for every filter',
  content(book) {
    const best = element('div', {}, paragraph('This is simulated last, after the answer above.'));
    const drift = paragraph();
    book.show(['live', 'completeRig'], ({ whole, rig }: LiveReport, { isOneFilter }: CompleteRig) => {
      best.classList.toggle('stale', whole === undefined && !isOneFilter);
      if (isOneFilter) {
        best.replaceChildren(
          paragraph('Your rig has no filters yet: add them in 1.1, and the best setting appears here.'),
        );
        return;
      }
      if (whole === undefined) return;
      best.replaceChildren(...guideFocusLines(whole.bestGuideFocus).map((line) => paragraph(shown(line))));
      const thermal = thermalDrift(rig);
      drift.replaceChildren(thermal ? shown(drivenByTemperature(thermal)) : '');
    });
    return [
      paragraph(
        'Filters of different thickness put the guide camera out of focus on either side. The best single setting of its focus ' +
          'is the one that keeps the worst filter furthest inside its budget.',
      ),
      best,
      drift,
    ];
  },
};
