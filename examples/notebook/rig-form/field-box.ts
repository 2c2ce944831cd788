/** One field of the form: label, unit, explanation, and beneath it what is wrong with its value. */
import { element } from '../element.ts';
import { enteredNumber } from '../number-entry.ts';
import type { RigField } from './rig-fields.ts';

export interface FieldBox extends Pick<RigField, 'path' | 'when'> {
  readonly element: HTMLElement;
  /** Show another value. */
  set(value: unknown): void;
  /** Say what is wrong with it, or that nothing is. */
  say(fault: string | undefined): void;
}

let fields = 0;

/**
 * @param change  takes the new value; `undefined` when the field is empty
 * @param spoken  name for screen readers, where the label alone does not tell it from others
 */
export function fieldBox(
  field: Omit<RigField, 'isRequired'>,
  change: (value: unknown) => void,
  spoken?: string,
): FieldBox {
  const { path, label, unit, explanation, kind, byDefault, when } = field;
  const id = `field-${++fields}`;
  const control = kind === 'choice' ? choiceOf(field) : element('input', { type: 'text' });
  if (control instanceof HTMLInputElement) {
    if (kind === 'number') control.inputMode = 'decimal';
    control.placeholder = byDefault;
    control.spellcheck = false;
    control.autocomplete = 'off';
  }
  control.id = id;
  control.className = kind;
  control.dataset['field'] = path;
  if (spoken !== undefined) control.setAttribute('aria-label', spoken);
  const entered = (): unknown => {
    if (kind === 'number') return enteredNumber(control.value);
    if (control.value.trim() === '') return undefined;
    return kind === 'list' ? control.value.split(',').map((each) => each.trim()) : control.value;
  };
  control.addEventListener('input', (event) => {
    event.stopPropagation();
    change(entered());
  });
  const about = element('p', { class: 'about-field', id: `${id}-about` }, explanation);
  const faultLine = element('p', { class: 'fault', id: `${id}-fault`, hidden: '' });
  control.setAttribute('aria-describedby', about.id);
  let said: string | undefined;
  return {
    path,
    ...(when ? { when } : {}),
    element: element(
      'div',
      { class: `field ${kind}` },
      element('label', { for: id }, label),
      element(
        'span',
        { class: 'entry' },
        control,
        ...(unit || kind === 'number' ? [element('span', { class: 'unit' }, unit)] : []),
      ),
      about,
      faultLine,
    ),
    set(value) {
      // What is being typed stays as it was typed: `0,2` is 0.2 already.
      if (JSON.stringify(value) === JSON.stringify(entered())) return;
      const empty = control instanceof HTMLSelectElement ? byDefault : '';
      control.value = value === undefined ? empty : Array.isArray(value) ? value.join(', ') : String(value);
    },
    say(fault) {
      // All fields are told after each change.
      if (fault === said) return;
      said = fault;
      control.toggleAttribute('aria-invalid', fault !== undefined);
      if (fault !== undefined) control.setAttribute('aria-invalid', 'true');
      control.setAttribute(
        'aria-describedby',
        fault === undefined ? about.id : `${faultLine.id} ${about.id}`,
      );
      faultLine.textContent = fault ?? '';
      faultLine.hidden = fault === undefined;
    },
  };
}

function choiceOf({ choices, byDefault }: Omit<RigField, 'isRequired'>): HTMLSelectElement {
  const all = byDefault === '' ? [{ value: '', label: 'not given' }, ...choices] : choices;
  const select = element('select', {}, ...all.map(({ value, label }) => element('option', { value }, label)));
  select.value = byDefault;
  return select;
}
