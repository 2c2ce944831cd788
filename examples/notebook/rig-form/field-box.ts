/** One field of the form: label, unit, explanation, and beneath it what is wrong with its value. */
import type { RigFault } from '@holdfast/sim';
import { element } from '../element.ts';
import type { RigField } from './rig-fields.ts';

export interface FieldBox {
  readonly path: string;
  readonly element: HTMLElement;
  show(fault: RigFault | undefined): void;
}

let fields = 0;

/** @param change  takes the new value; `undefined` when the field is empty */
export function fieldBox(field: RigField, value: unknown, change: (value: unknown) => void): FieldBox {
  const { path, label, unit, explanation, kind, byDefault } = field;
  const id = `field-${++fields}`;
  const faultId = `${id}-fault`;
  const control = kind === 'choice' ? choiceOf(field, value) : element('input', { type: 'text' });
  if (control instanceof HTMLInputElement) {
    if (kind === 'number') control.inputMode = 'decimal';
    control.value = value === undefined ? '' : String(value);
    control.placeholder = byDefault;
    control.spellcheck = false;
    control.autocomplete = 'off';
  }
  control.id = id;
  control.className = kind;
  control.dataset['field'] = path;
  control.addEventListener('input', () => change(enteredValue(kind, control.value)));
  const aboutId = `${id}-about`;
  const about = element('p', { class: 'about-field', id: aboutId }, explanation);
  control.setAttribute('aria-describedby', aboutId);
  const faultLine = element('p', { class: 'fault', id: faultId, hidden: '' });
  return {
    path,
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
    show(fault) {
      control.toggleAttribute('aria-invalid', fault !== undefined);
      if (fault !== undefined) {
        control.setAttribute('aria-invalid', 'true');
        control.setAttribute('aria-describedby', `${faultId} ${aboutId}`);
        faultLine.textContent = `must be ${fault.allowed}`;
      } else control.setAttribute('aria-describedby', aboutId);
      faultLine.hidden = fault === undefined;
    },
  };
}

function choiceOf({ choices, byDefault }: RigField, value: unknown): HTMLSelectElement {
  const chosen = value === undefined ? byDefault : String(value);
  const select = element('select');
  for (const { value: name, label } of choices) {
    const option = element('option', { value: name }, label);
    option.selected = name === chosen;
    select.append(option);
  }
  return select;
}

/** A number where the text is one, with a comma as a point; else the text, which the check will refuse. */
function enteredValue(kind: RigField['kind'], text: string): unknown {
  if (kind !== 'number') return text;
  const trimmed = text.trim().replace(',', '.').replace('−', '-');
  if (trimmed === '') return undefined;
  const number = Number(trimmed);
  return Number.isFinite(number) ? number : text;
}
