/** Every filter in one line: the ring seen with it, and what to do. */
import { significant } from '@holdfast/sim/internal';
import { shown } from '../../figures/number-words.ts';
import { outcomeWord } from '../../figures/outcome-word.ts';
import type { Book } from '../book.ts';
import type { LiveReport } from '../compute/live-report.ts';
import { element, paragraph } from '../element.ts';
import type { CompleteRig } from '../rig-form/complete-rig.ts';

export function filterStrip(book: Book): HTMLElement {
  const list = element('ul', { class: 'filter-strip' });
  const best = element('span');
  const more = element('a', { href: '#your-rig' }, 'Add your filters');
  book.show(
    ['live', 'completeRig'],
    ({ advice: { filters }, whole }: LiveReport, { isOneFilter }: CompleteRig) => {
      list.hidden = isOneFilter;
      more.textContent = isOneFilter ? 'Add your filters' : 'Change the filters';
      list.replaceChildren(
        ...filters.map((advice) => {
          const { outerDiameterPx } = advice.assessment.scene;
          return element(
            'li',
            {},
            element('span', { class: 'name' }, advice.filter),
            element('span', { class: 'ring' }, shown(`${significant(outerDiameterPx, 2)} px`)),
            element('span', { class: `outcome ${advice.outcome}` }, outcomeWord(advice)),
          );
        }),
      );
      const setting = whole?.bestGuideFocus.settingUm;
      best.textContent =
        setting && filters.length > 1
          ? shown(`Best guide focus for all: ${Math.round(setting.value)} µm. `)
          : '';
    },
  );
  return element(
    'div',
    {},
    element('h2', { class: 'small' }, 'Ring seen with each filter'),
    list,
    paragraph(best, more, ', by µm, focuser steps, glass, or the ring that you see.'),
  );
}
