/** The filters of the form: a name and a focus shift each, as many as one likes. */
import { element } from '../element.ts';
import { quantityOf } from '../inputs-of.ts';
import { type FieldBox, fieldBox } from './field-box.ts';

type Filter = Readonly<Record<string, unknown>>;

export interface FilterRows {
  readonly element: HTMLElement;
  readonly boxes: readonly FieldBox[];
}

/**
 * @param current  the list as it is now
 * @param change   takes the new list; `isShape`: rows came or went
 */
export function filterRows(
  current: () => readonly Filter[],
  change: (filters: readonly Filter[], isShape: boolean) => void,
): FilterRows {
  const boxes: FieldBox[] = [];
  const filters = current();
  const rows = filters.map((filter, row) => {
    const cells = Object.entries({ name: '', ...filter })
      .filter(([, value]) => typeof value !== 'object')
      .map(([key, value]) => {
        const { quantity, unit } = quantityOf(key);
        const box = fieldBox(
          {
            path: `filters[${row}].${key}`,
            label: key === 'name' ? 'filter' : quantity,
            unit,
            explanation: explanations[key] ?? '',
            kind: key === 'name' || typeof value === 'string' ? 'text' : 'number',
            choices: [],
            byDefault: '',
            isRequired: true,
          },
          value,
          (entered) =>
            change(
              current().map((other, i) => (i === row ? { ...other, [key]: entered } : other)),
              false,
            ),
        );
        boxes.push(box);
        return box.element;
      });
    const remove = element(
      'button',
      { type: 'button', class: 'quiet', 'aria-label': `remove ${String(filter['name'] ?? 'filter')}` },
      'remove',
    );
    remove.addEventListener('click', () =>
      change(
        current().filter((_, i) => i !== row),
        true,
      ),
    );
    return element('div', { class: 'filter-row' }, ...cells, ...(filters.length > 1 ? [remove] : []));
  });
  const add = element('button', { type: 'button', class: 'quiet' }, 'add a filter');
  add.addEventListener('click', () => change([...current(), another(current())], true));
  return {
    element: element(
      'fieldset',
      { class: 'filters' },
      element('legend', {}, 'filters'),
      ...rows,
      element('p', { class: 'below' }, add),
    ),
    boxes,
  };
}

const explanations: Readonly<Record<string, string>> = {
  name: 'Name of the filter.',
  minutes: 'How long a night this filter is in the beam: its weight when one guide focus is to suit all.',
  focusShiftUm:
    'How far the guide sensor ends beyond its best focus when the main camera is refocused for this filter; negative: ahead of it.',
};

/** Like the last one, so that it says what all the others say. */
function another(filters: readonly Filter[]): Filter {
  return { focusShiftUm: 0, ...filters[filters.length - 1], name: freeName(filters) };
}

function freeName(filters: readonly Filter[]): string {
  const taken = new Set(filters.map(({ name }) => name));
  for (let n = filters.length + 1; ; n++) if (!taken.has(`Filter ${n}`)) return `Filter ${n}`;
}
