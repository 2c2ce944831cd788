/** The filters of the form: each with the shift that it makes, told in the way that one knows it. */
import { element } from '../element.ts';
import { type FieldBox, fieldBox } from './field-box.ts';
import type { RigField } from './rig-fields.ts';
import { type RigText, valueAt } from './rig-text.ts';
import { ringOfShift, seenRing, withoutRing } from './seen-ring.ts';

export type Filter = Readonly<Record<string, unknown>>;
type Way = 'focusShiftUm' | 'focuserSteps' | 'glass' | 'ring';

export interface FilterRows {
  readonly element: HTMLElement;
  readonly boxes: readonly FieldBox[];
  /** Show what the rig says now. */
  set(text: RigText): void;
}

const ways: ReadonlyMap<Way, string> = new Map([
  ['focusShiftUm', 'µm of focus'],
  ['focuserSteps', 'focuser steps'],
  ['glass', 'thickness of its glass'],
  ['ring', 'ring seen with it'],
]);

/**
 * @param text    the rig as it is now
 * @param change  takes the new list
 */
export function filterRows(text: () => RigText, change: (filters: readonly Filter[]) => void): FilterRows {
  const rows = element('div');
  const add = element('button', { type: 'button', class: 'quiet' }, 'add a filter');
  add.addEventListener('click', () => change([...filtersOf(text()), another(filtersOf(text()))]));
  const boxes: FieldBox[] = [];
  let shape = '';
  const shapeOf = (filters: readonly Filter[]) => JSON.stringify(filters.map(wayOf));
  const build = (filters: readonly Filter[]): void => {
    boxes.length = 0;
    const focused =
      document.activeElement instanceof HTMLElement ? document.activeElement.dataset['field'] : undefined;
    rows.replaceChildren(...filters.map((_, row) => rowOf(row, filters.length)));
    if (focused !== undefined)
      rows.querySelector<HTMLElement>(`[data-field="${CSS.escape(focused)}"]`)?.focus();
  };
  const rowOf = (row: number, count: number): HTMLElement => {
    const now = (): Filter => filtersOf(text())[row] ?? {};
    const put = (changed: Filter): void =>
      change(
        filtersOf(text()).map((other, i) => (i === row ? withoutUndefined({ ...other, ...changed }) : other)),
      );
    const way = wayOf(now());
    const named = String(now()['name'] ?? 'filter');
    const box = (
      field: Pick<RigField, 'label' | 'unit' | 'kind' | 'explanation'> & Partial<RigField>,
      key: string,
      take: (value: unknown) => void,
    ) => {
      const made = fieldBox(
        { choices: [], byDefault: '', ...field, path: `filters[${row}].${key}` },
        take,
        `${named}: ${field.label}`,
      );
      boxes.push(made);
      return made.element;
    };
    const setWay = (next: unknown): void => {
      const shiftUm = withoutRing(now(), text())['focusShiftUm'] ?? 0;
      const empty = { focusShiftUm: undefined, focuserSteps: undefined, glass: undefined, ring: undefined };
      if (next === 'ring') put({ ...empty, ring: ringOfShift(shiftUm, text()) });
      else if (next === 'focuserSteps') put({ ...empty, focuserSteps: 0 });
      else if (next === 'glass') put({ ...empty, glass: { thicknessMm: 2, material: 'N-BK7' } });
      else put({ ...empty, focusShiftUm: shiftUm });
    };
    const glassPart = (key: string) => (value: unknown) =>
      put({ glass: withoutUndefined({ ...(now()['glass'] as Filter | undefined), [key]: value }) });
    const values: Record<Way, () => HTMLElement[]> = {
      focusShiftUm: () => [
        box(
          { label: 'shift', unit: 'µm', kind: 'number', explanation: about.focusShiftUm },
          'focusShiftUm',
          (value) => put({ focusShiftUm: value }),
        ),
      ],
      focuserSteps: () => [
        box(
          { label: 'position', unit: 'steps', kind: 'number', explanation: about.focuserSteps },
          'focuserSteps',
          (value) => put({ focuserSteps: value }),
        ),
      ],
      glass: () => [
        box(
          { label: 'thickness', unit: 'mm', kind: 'number', explanation: about.glass },
          'glass.thicknessMm',
          glassPart('thicknessMm'),
        ),
        box(
          { label: 'glass', unit: '', kind: 'choice', explanation: '', choices: glasses },
          'glass.material',
          glassPart('material'),
        ),
        box(
          { label: 'or index', unit: '', kind: 'number', explanation: '' },
          'glass.index',
          glassPart('index'),
        ),
      ],
      ring: () => [
        box({ label: 'ring', unit: 'px', kind: 'number', explanation: about.ring }, 'ring.px', (px) =>
          put({ ring: { side: 'beyond', ...seenRing(now()), px } }),
        ),
        box(
          {
            label: 'side',
            unit: '',
            kind: 'choice',
            byDefault: 'beyond',
            explanation: about.side,
            choices: sides,
          },
          'ring.side',
          (side) => put({ ring: { ...seenRing(now()), side } }),
        ),
      ],
    };
    const choices = [...ways].map(([value, label]) => ({ value, label }));
    const remove = element(
      'button',
      { type: 'button', class: 'quiet', 'aria-label': `remove ${named}` },
      'remove',
    );
    remove.addEventListener('click', () => change(filtersOf(text()).filter((_, i) => i !== row)));
    return element(
      'div',
      { class: 'filter-row' },
      box({ label: 'filter', unit: '', kind: 'text', explanation: about.name }, 'name', (value) =>
        put({ name: value }),
      ),
      box(
        { label: 'given as', unit: '', kind: 'choice', byDefault: way, explanation: '', choices },
        'way',
        setWay,
      ),
      ...values[way](),
      box(
        { label: 'per night', unit: 'min', kind: 'number', explanation: about.minutes },
        'minutes',
        (value) => put({ minutes: value }),
      ),
      ...(count > 1 ? [remove] : []),
    );
  };
  return {
    element: element(
      'fieldset',
      { class: 'filters' },
      element('legend', {}, 'filters'),
      rows,
      element('p', { class: 'below' }, add),
    ),
    boxes,
    set(next) {
      const filters = filtersOf(next);
      if (shapeOf(filters) !== shape) build(filters);
      shape = shapeOf(filters);
      for (const box of boxes) {
        const [, row, key] = /^filters\[(\d+)\]\.(.*)$/.exec(box.path) ?? [];
        const filter = filters[Number(row)];
        box.set(key === 'way' ? wayOf(filter) : valueAt(filter, key));
      }
    },
  };
}

const about = {
  name: 'Name of the filter.',
  minutes: 'How long per night this filter is in the beam: its weight when one guide focus is to suit all.',
  focusShiftUm:
    'How far the focuser moves for this filter; positive when the guide sensor ends up beyond its best focus.',
  focuserSteps:
    'Position of the focuser at best focus with this filter. Give the size of a step under “focuser”.',
  glass: 'Thickness of the filter. The first filter must be given so, too; 0 for none.',
  ring: 'Diameter of the guide star’s ring when the main camera is in focus with this filter.',
  side: 'Move the focuser a little away from the telescope: when the ring grows, the guide sensor is beyond its focus.',
} as const;

const sides = [
  { value: 'beyond', label: 'beyond focus' },
  { value: 'ahead', label: 'ahead of focus' },
];
const glasses = [
  { value: 'N-BK7', label: 'N-BK7' },
  { value: 'fused-silica', label: 'fused silica' },
];

export function filtersOf(text: RigText): readonly Filter[] {
  const listed = text['filters'];
  return Array.isArray(listed)
    ? listed.filter((entry): entry is Filter => typeof entry === 'object' && entry !== null)
    : [];
}

function wayOf(filter: Filter): Way {
  if (filter['focuserSteps'] !== undefined) return 'focuserSteps';
  if (filter['glass'] !== undefined) return 'glass';
  return seenRing(filter) === undefined ? 'focusShiftUm' : 'ring';
}

function withoutUndefined(filter: Filter): Filter {
  return Object.fromEntries(Object.entries(filter).filter(([, value]) => value !== undefined));
}

/** Like the last one, so that it says what all the others say. */
function another(filters: readonly Filter[]): Filter {
  return { ...(filters[filters.length - 1] ?? { focusShiftUm: 0 }), name: freeName(filters) };
}

function freeName(filters: readonly Filter[]): string {
  const taken = new Set(filters.map(({ name }) => name));
  for (let n = filters.length + 1; ; n++) if (!taken.has(`Filter ${n}`)) return `Filter ${n}`;
}
