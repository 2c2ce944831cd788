/** The rig as a form: every change is checked at once, and faults stand beside their fields. */
import type { Rig, RigFault } from '@holdfast/sim';
import { element } from '../element.ts';
import { type FieldBox, fieldBox } from './field-box.ts';
import { filterRows } from './filter-rows.ts';
import { type RigField, rigParts } from './rig-fields.ts';
import { checkRig, type RigText, type RigValue, valueAt, withValue } from './rig-text.ts';

export interface RigForm extends HTMLElement {
  readonly value: RigValue;
  /** Show another rig, as from a file; faults are shown, and the rig in use stays where it has any. */
  load(text: unknown): void;
}

/**
 * @param start  a rig that can be used
 * @param text   what its file says
 */
export function rigForm(start: Rig, text: RigText): RigForm {
  const fields = element('div', { class: 'fields' });
  const faultList = element('ul', { class: 'faults' });
  const state = element('div', { class: 'faults-box', role: 'status' });
  const form = element('div', { class: 'rig-form' }, state, fields) as unknown as RigForm;
  let value: RigValue = { text, rig: start, faults: [] };
  let boxes: FieldBox[] = [];

  const tell = () => form.dispatchEvent(new CustomEvent('input', { bubbles: false }));
  const check = (next: RigText) => {
    const checked = checkRig(next);
    value =
      'rig' in checked
        ? { text: next, rig: checked.rig, faults: [] }
        : { text: next, rig: value.rig, faults: checked.faults };
    show(value.faults);
    tell();
  };
  const show = (faults: readonly RigFault[]) => {
    for (const box of boxes) box.show(faults.find(({ field }) => field === box.path));
    const known = new Set(boxes.map(({ path }) => path));
    const others = faults.filter(({ field }) => !known.has(field));
    faultList.replaceChildren(
      ...others.map(({ field, allowed, got }) =>
        element('li', {}, `${field || 'The rig'}: must be ${allowed}, got ${got}`),
      ),
    );
    state.replaceChildren(
      ...(faults.length === 0
        ? []
        : [
            element(
              'p',
              { class: 'fault' },
              `${faults.length === 1 ? 'One entry' : `${faults.length} entries`} cannot be used; all numbers below are still those of the last rig that could.`,
            ),
            faultList,
          ]),
    );
  };
  const build = () => {
    boxes = [];
    const boxOf = (field: RigField) => {
      const box = fieldBox(field, valueAt(value.text, field.path), (entered) =>
        check(withValue(value.text, field.path, entered)),
      );
      boxes.push(box);
      return box.element;
    };
    const parts = rigParts().map(({ title, explanation, fields: all }) => {
      const needed = all.filter(({ isRequired }) => isRequired);
      const others = all.filter(({ isRequired }) => !isRequired);
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
                element('summary', {}, needed.length > 0 ? `more on ${title}` : `set the ${title}`),
                ...others.map(boxOf),
              ),
            ]),
      );
    });
    const rows = filterRows(
      () => filtersOf(value.text),
      (filters, isShape) => {
        value = { ...value, text: withValue(value.text, 'filters', filters) };
        if (isShape) build();
        check(value.text);
      },
    );
    boxes.push(...rows.boxes);
    fields.replaceChildren(rows.element, ...parts);
  };
  Object.defineProperty(form, 'value', { get: () => value });
  form.load = (next) => {
    const checked = checkRig(next);
    if (typeof next !== 'object' || next === null || Array.isArray(next)) {
      show('faults' in checked ? checked.faults : []);
      return;
    }
    value = { ...value, text: next as RigText };
    build();
    check(value.text);
  };
  build();
  return form;
}

type Filter = Readonly<Record<string, unknown>>;

function filtersOf(text: RigText): readonly Filter[] {
  const listed = valueAt(text, 'filters');
  return Array.isArray(listed)
    ? listed.filter((entry): entry is Filter => typeof entry === 'object' && entry !== null)
    : [];
}
