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
    const best = element('div', {}, paragraph('This is simulated last, once the answer above stands.'));
    const drift = paragraph();
    book.show(['live'], ({ whole, rig }: LiveReport) => {
      best.classList.toggle('stale', whole === undefined);
      if (whole === undefined) return;
      best.replaceChildren(
        ...guideFocusLines(whole.bestGuideFocus).map((line) => paragraph(withUnits(line))),
      );
      const thermal = thermalDrift(rig);
      drift.replaceChildren(thermal ? withUnits(drivenByTemperature(thermal)) : '');
    });
    return [
      paragraph(
        'Filters of different glass put the guide camera out of focus to both sides. Where would it best be set, once and for all ' +
          'of them? As far as it can be told, where the filter that is worst off spends least of the budget:',
      ),
      best,
      drift,
    ];
  },
};

/** As the page writes lengths. */
const withUnits = (line: string): string => shown(line.replace(/\bum\b/g, 'µm'));
