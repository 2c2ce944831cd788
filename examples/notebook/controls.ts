/** Sliders and choices of the cells: named values of the book, kept in links. */
import * as Inputs from '@observablehq/inputs';
import type { Book } from './book.ts';
import { element } from './element.ts';
import { inputValues } from './input-values.ts';

type Input<T> = HTMLElement & { value: T };

export interface RangeControl {
  readonly label: string;
  readonly unit?: string;
  readonly extent: readonly [number, number];
  readonly step: number;
  readonly value: number;
  /** Equal ratios take equal ways on the slider. */
  readonly isLogarithmic?: boolean;
}

/** A number to be set by slider or keyboard; its value has the name. */
export function rangeControl(book: Book, name: string, control: RangeControl): HTMLElement {
  const { label, unit, extent, step, value, isLogarithmic } = control;
  const restored = book.restored(name);
  const words = unit ? `${label}, ${unit}` : label;
  const input = Inputs.range([...extent], {
    label: words,
    step,
    value: typeof restored === 'number' ? restored : value,
    ...(isLogarithmic ? { transform: Math.log } : {}),
  }) as Input<number>;
  input.querySelector('input[type=range]')?.setAttribute('aria-label', `${words}, slider`);
  return keep(book, name, input);
}

/** One of several; its value has the name. */
export function choiceControl<Value extends string>(
  book: Book,
  name: string,
  label: string,
  choices: ReadonlyMap<string, Value>,
  value: Value,
): HTMLElement {
  const restored = book.restored(name);
  const known = [...choices.values()];
  const chosen = known.find((each) => each === restored) ?? value;
  const input = Inputs.select(choices, { label, value: chosen }) as Input<Value>;
  return keep(book, name, input);
}

function keep<T>(book: Book, name: string, input: Input<T>): HTMLElement {
  input.dataset['control'] = name;
  book.keep(name, input);
  book.define(name, [], () => inputValues(input));
  return input;
}

/** A row of controls. */
export const controls = (...inputs: readonly HTMLElement[]): HTMLElement =>
  element('div', { class: 'controls' }, ...inputs);

/** A button that counts how often it was pressed; its value has the name. */
export function pressControl(book: Book, name: string, words: string): HTMLElement {
  const button = element('button', { type: 'button', class: 'press' }, words) as HTMLButtonElement;
  const restored = book.restored(name);
  const counter = Object.assign(new EventTarget(), { value: typeof restored === 'number' ? restored : 0 });
  button.addEventListener('click', () => {
    counter.value++;
    counter.dispatchEvent(new Event('input'));
  });
  button.dataset['control'] = name;
  book.keep(name, counter);
  book.define(name, [], () => inputValues(counter));
  return button;
}
