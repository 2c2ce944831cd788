/** Time, set by a slider or played; whoever asked for less motion steps by hand. */
import { type NumberInput, numberInput } from './controls.ts';
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
  let length = 3600;
  const slider: NumberInput = numberInput({
    label,
    unit: 's',
    extent: [0, length],
    step: 1,
    value: startS,
  });
  const range = slider.querySelector('input[type=range]') as HTMLInputElement;
  const button = element('button', { type: 'button', class: 'press' }, 'play');
  const box = element('div', { class: 'controls player' }, slider, button) as unknown as Player;
  button.hidden = matchMedia('(prefers-reduced-motion: reduce)').matches;
  let timer: ReturnType<typeof setInterval> | undefined;
  const stop = () => {
    clearInterval(timer);
    timer = undefined;
    button.textContent = 'play';
  };
  const timeOf = () => Math.min(length, typeof slider.value === 'number' ? slider.value : startS);
  const tell = () => box.dispatchEvent(new CustomEvent('input'));
  button.addEventListener('click', () => {
    if (timer !== undefined) {
      stop();
      return;
    }
    button.textContent = 'pause';
    let time = timeOf() >= length - 1 ? 0 : timeOf();
    timer = setInterval(() => {
      time += (speed * tickMs) / 1000;
      slider.value = Math.min(length, Math.round(time));
      tell();
      if (time >= length) stop();
    }, tickMs);
  });
  slider.addEventListener('input', () => {
    stop();
    tell();
  });
  Object.defineProperty(box, 'value', {
    get: timeOf,
    set: (next: number) => {
      slider.value = next;
    },
  });
  box.setLength = (seconds) => {
    length = seconds;
    range.max = String(seconds);
  };
  return box;
}
