/** Sliders and choices of the cells: named values of the book, kept in its state. */
import type { Book } from './book.ts';
import { element } from './element.ts';
import { inputValues } from './input-values.ts';
import { enteredNumber } from './number-entry.ts';

export interface RangeControl {
  readonly label: string;
  readonly unit?: string;
  /** Ends of the slider. */
  readonly extent: readonly [number, number];
  /** What may be typed; default: what the slider reaches. */
  readonly limits?: readonly [number, number];
  /** Of the slider; a number that is typed is used as it is. */
  readonly step: number;
  readonly value: number;
  /** Equal ratios take equal ways on the slider. */
  readonly isLogarithmic?: boolean;
}

export interface NumberInput extends HTMLElement {
  /** What was entered: a text where it is no number. */
  value: number | string | undefined;
  /** What is wrong with the value. */
  readonly fault: string | undefined;
}

let controlsMade = 0;

/** A number to be typed or set by a slider, whichever one likes. */
export function numberInput(control: RangeControl): NumberInput {
  const { label, unit, extent, limits = extent, step, isLogarithmic } = control;
  const id = `control-${++controlsMade}`;
  const words = unit ? `${label}, ${unit}` : label;
  const typed = element('input', {
    id,
    type: 'text',
    inputmode: 'decimal',
    class: 'number',
    autocomplete: 'off',
  });
  const [from, to] = isLogarithmic ? extent.map(Math.log) : extent;
  const slider = element('input', {
    type: 'range',
    min: String(from),
    max: String(to),
    step: String(isLogarithmic ? (to - from) / 400 : step),
    'aria-label': `${words}, slider`,
  });
  const faultLine = element('p', { class: 'fault', id: `${id}-fault`, hidden: '' });
  const box = element(
    'div',
    { class: 'control' },
    element('label', { for: id }, words),
    element('div', { class: 'number-and-slider' }, typed, slider),
    faultLine,
  ) as unknown as NumberInput;
  const faultOf = (value: number | string | undefined): string | undefined =>
    typeof value === 'number' && value >= limits[0] && value <= limits[1]
      ? undefined
      : `${label} must be a number from ${limits[0]} to ${limits[1]}`;
  let value: number | string | undefined;
  const take = (next: number | string | undefined): void => {
    value = next;
    const fault = faultOf(value);
    faultLine.hidden = fault === undefined;
    faultLine.textContent = fault ?? '';
    typed.setAttribute('aria-invalid', String(fault !== undefined));
    if (fault !== undefined) typed.setAttribute('aria-describedby', faultLine.id);
    else typed.removeAttribute('aria-describedby');
    if (typeof value !== 'number' || fault !== undefined) return;
    slider.value = String(isLogarithmic ? Math.log(value) : value);
    slider.setAttribute('aria-valuetext', `${value}${unit ? ` ${unit}` : ''}`);
  };
  const tell = () => box.dispatchEvent(new CustomEvent('input'));
  typed.addEventListener('input', (event) => {
    event.stopPropagation();
    take(enteredNumber(typed.value));
    tell();
  });
  slider.addEventListener('input', (event) => {
    event.stopPropagation();
    const at = Number(slider.value);
    take(isLogarithmic ? Number((Math.round(Math.exp(at) / step) * step).toPrecision(12)) : at);
    typed.value = String(value);
    tell();
  });
  Object.defineProperty(box, 'value', {
    get: () => value,
    set: (next: number | string | undefined) => {
      typed.value = next === undefined ? '' : String(next);
      take(next);
    },
  });
  Object.defineProperty(box, 'fault', { get: () => faultOf(value) });
  box.value = control.value;
  return box;
}

/** A number of the book under this name; while it cannot be used, whatever needs it says so. */
export function rangeControl(book: Book, name: string, control: RangeControl): NumberInput {
  const input = numberInput(control);
  book.define(`entered ${name}`, [], () => inputValues(input));
  book.define(name, [`entered ${name}`], (value: number) => {
    if (input.fault !== undefined) throw new RangeError(input.fault);
    return value;
  });
  return kept(book, name, input, control.value);
}

/** One of several; its value has the name. */
export function choiceControl<Value extends string>(
  book: Book,
  name: string,
  label: string,
  choices: ReadonlyMap<string, Value>,
  value: Value,
): HTMLElement & { value: Value } {
  const id = `control-${++controlsMade}`;
  const select = element(
    'select',
    { id },
    ...[...choices].map(([words, each]) => element('option', { value: each }, words)),
  );
  const box = element('div', { class: 'control' }, element('label', { for: id }, label), select);
  select.addEventListener('input', (event) => {
    event.stopPropagation();
    box.dispatchEvent(new CustomEvent('input'));
  });
  const known = [...choices.values()];
  const input = Object.defineProperty(box, 'value', {
    get: () => select.value,
    set: (next: Value) => {
      if (known.includes(next)) select.value = next;
    },
  }) as unknown as HTMLElement & { value: Value };
  input.value = value;
  book.define(name, [], () => inputValues(input));
  return kept(book, name, input, value);
}

/** On or off; its value has the name. */
export function switchControl(book: Book, name: string, label: string): HTMLElement {
  const id = `control-${++controlsMade}`;
  const tick = element('input', { id, type: 'checkbox' });
  const box = element('div', { class: 'switch' }, tick, element('label', { for: id }, label));
  tick.addEventListener('input', (event) => {
    event.stopPropagation();
    box.dispatchEvent(new CustomEvent('input'));
  });
  const input = Object.defineProperty(box, 'value', {
    get: () => tick.checked,
    set: (next: unknown) => {
      tick.checked = next === true;
    },
  }) as unknown as HTMLElement & { value: boolean };
  book.define(name, [], () => inputValues(input));
  return kept(book, name, input, false);
}

function kept<Input extends HTMLElement & { value: unknown }>(
  book: Book,
  name: string,
  input: Input,
  start: unknown,
): Input {
  const restored = book.state.restored(name);
  if (restored !== undefined) input.value = restored;
  input.dataset['control'] = name;
  book.keep(name, input, start);
  return input;
}

/** A row of controls. */
export const controls = (...inputs: readonly HTMLElement[]): HTMLElement =>
  element('div', { class: 'controls' }, ...inputs);

/** A button that counts how often it was pressed; its value has the name. */
export function pressControl(book: Book, name: string, words: string): HTMLElement {
  const button = element('button', { type: 'button', class: 'press' }, words) as HTMLButtonElement;
  const restored = book.state.restored(name);
  const counter = Object.assign(new EventTarget(), { value: typeof restored === 'number' ? restored : 0 });
  button.addEventListener('click', () => {
    counter.value++;
    counter.dispatchEvent(new Event('input'));
  });
  button.dataset['control'] = name;
  book.keep(name, counter, 0);
  book.define(name, [], () => inputValues(counter));
  return button;
}
