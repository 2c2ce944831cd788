/** Time, set by a slider or played; whoever asked for less motion steps by hand. */
import * as Inputs from '@observablehq/inputs';
import { element } from './element.ts';

export interface Player extends HTMLElement {
  /** Time, s. */
  value: number;
  /** Another length of the whole, s. */
  setLength(seconds: number): void;
}

/** Seconds of the run in a second of the reader. */
const speed = 12;
const tickMs = 60;

export function player(label: string, startS: number): Player {
  const slider = Inputs.range([0, 3600], { label, step: 1, value: startS }) as HTMLElement & {
    value: number;
  };
  const range = slider.querySelector('input[type=range]') as HTMLInputElement;
  const number = slider.querySelector('input[type=number]') as HTMLInputElement;
  range.setAttribute('aria-label', `${label}, slider`);
  const button = element('button', { type: 'button', class: 'press' }, 'play');
  const box = element('div', { class: 'controls player' }, slider, button) as unknown as Player;
  const isCalm = matchMedia('(prefers-reduced-motion: reduce)').matches;
  button.hidden = isCalm;
  let timer: ReturnType<typeof setInterval> | undefined;
  let length = 3600;
  const stop = () => {
    clearInterval(timer);
    timer = undefined;
    button.textContent = 'play';
  };
  const set = (value: number) => {
    slider.value = Math.min(length, value);
    box.dispatchEvent(new CustomEvent('input'));
  };
  button.addEventListener('click', () => {
    if (timer !== undefined) {
      stop();
      return;
    }
    button.textContent = 'pause';
    let time = slider.value >= length - 1 ? 0 : slider.value;
    timer = setInterval(() => {
      time += (speed * tickMs) / 1000;
      set(Math.round(time));
      if (time >= length) stop();
    }, tickMs);
  });
  slider.addEventListener('input', (event) => {
    event.stopPropagation();
    stop();
    box.dispatchEvent(new CustomEvent('input'));
  });
  Object.defineProperty(box, 'value', { get: () => Math.min(length, slider.value) });
  box.setLength = (seconds) => {
    length = seconds;
    range.max = number.max = String(seconds);
    if (slider.value > seconds) slider.value = seconds;
  };
  return box;
}
