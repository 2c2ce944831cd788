/** The rig as a form: every change is checked at once, and faults stand beside their fields. */
import type { RigFault } from '@holdfast/sim';
import { element } from '../element.ts';
import { checkRig } from './complete-rig.ts';
import { type FieldBox, fieldBox } from './field-box.ts';
import { filterRows } from './filter-rows.ts';
import { type RigField, type RigPart, rigParts } from './rig-fields.ts';
import { type RigText, valueAt, withValue } from './rig-text.ts';

export interface RigForm extends HTMLElement {
  /** What is written in it, right or wrong. */
  value: RigText;
  /** Write into one field, as other parts of the page do. */
  put(path: string, value: unknown): void;
  /** Another box for one of its fields, elsewhere on the page. */
  boxFor(path: string, words: { readonly label: string; readonly unit?: string }): HTMLElement;
  /** No answer could be computed from what was changed last. */
  failed(error: Error | undefined): void;
}

export function rigForm(start: RigText): RigForm {
  const faultList = element('ul', { class: 'faults' });
  const form = element('div', { class: 'rig-form' }) as unknown as RigForm;
  let text = start;
  let lastChanged = '';
  let faults: readonly RigFault[] = [];

  const change = (path: string, value: unknown): void => {
    lastChanged = path;
    text = withValue(text, path, value);
    for (const { path: other, when } of boxes)
      if (when?.path === path && !when.values.includes(String(value)))
        text = withValue(text, other, undefined);
    show();
    form.dispatchEvent(new CustomEvent('input'));
  };
  const rows = filterRows(
    () => text,
    (filters) => change('filters', filters),
  );
  const ownBoxes: FieldBox[] = [];
  const boxOf = (field: RigField): HTMLElement => {
    const box = fieldBox(field, (entered) => change(field.path, entered));
    ownBoxes.push(box);
    return box.element;
  };
  let boxes: readonly FieldBox[] = [];
  const show = (): void => {
    rows.set(text);
    boxes = [...rows.boxes, ...ownBoxes];
    for (const { path, when, set, element: box } of ownBoxes) {
      set(valueAt(text, path));
      box.hidden = when !== undefined && !when.values.includes(String(valueAt(text, when.path) ?? ''));
    }
    const checked = checkRig(text);
    faults = 'faults' in checked ? checked.faults : [];
    tell();
  };
  const tell = (failure?: Error): void => {
    const told = new Set<RigFault>();
    for (const box of boxes) {
      const fault = faults.find(
        (each) => !told.has(each) && box.element.hidden === false && isAt(each.field, box.path),
      );
      if (fault !== undefined) told.add(fault);
      box.say(
        fault !== undefined
          ? `must be ${fault.allowed}`
          : failure !== undefined && box.path === lastChanged
            ? `with this value there is no answer: ${failure.message}`
            : undefined,
      );
    }
    faultList.replaceChildren(
      ...faults
        .filter((fault) => !told.has(fault))
        .map(({ field, allowed, got }) =>
          element('li', {}, `${field || 'The rig'}: must be ${allowed}, got ${got}`),
        ),
    );
  };

  const parts = rigParts();
  const allFields = parts.flatMap(({ fields }) => fields);
  form.append(
    element('div', { role: 'status' }, faultList),
    element('div', { class: 'fields' }, rows.element, ...parts.map((part) => partOf(part, boxOf))),
  );
  Object.defineProperty(form, 'value', {
    get: () => text,
    set: (next: RigText) => {
      text = next;
      lastChanged = '';
      show();
    },
  });
  form.put = change;
  form.boxFor = (path, { label, unit = '' }) => {
    const field = allFields.find((each) => each.path === path);
    if (field === undefined) throw new RangeError(`path must be a field of the rig, got ${path}`);
    const box = fieldBox({ ...field, label, unit }, (entered) => change(path, entered));
    const control = box.element.querySelector<HTMLElement>('[data-field]');
    if (control) {
      control.dataset['first'] = path;
      delete control.dataset['field'];
    }
    ownBoxes.push(box);
    show();
    return box.element;
  };
  form.failed = (error) => {
    if (faults.length === 0) tell(error);
  };
  show();
  return form;
}

/** A ring stands for the shift that it makes. */
function isAt(fault: string, path: string): boolean {
  const field = path.replace(/\.ring\.px$/, '.focusShiftUm');
  return fault === field || field.startsWith(`${fault}.`);
}

function partOf(
  { title, explanation, isOptional, fields }: RigPart,
  boxOf: (field: RigField) => HTMLElement,
): HTMLElement {
  const needed = fields.filter(({ isRequired }) => isRequired && !isOptional);
  const others = fields.filter((field) => !needed.includes(field));
  return element(
    'fieldset',
    {},
    element('legend', { title: explanation }, title),
    ...needed.map(boxOf),
    ...(others.length === 0
      ? []
      : [
          element(
            'details',
            title === 'budget' ? { open: '' } : {},
            element('summary', {}, needed.length > 0 ? 'more values' : 'all values'),
            ...others.map(boxOf),
          ),
        ]),
  );
}
