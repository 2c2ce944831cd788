/** What a control says is never lost, however fast it changes. */
import { expect, test } from 'vitest';
import { inputValues } from '../../examples/notebook/input-values.ts';

class Control extends EventTarget {
  value = 0;
  set(value: number): void {
    this.value = value;
    this.dispatchEvent(new Event('input'));
  }
}

test('the first value, then the newest after each change', async () => {
  const control = new Control();
  const values = inputValues(control);
  expect(await values.next().value).toBe(0);
  const waiting = values.next().value;
  control.set(1);
  expect(await waiting).toBe(1);
});

test('a change between one answer and the next question is told', async () => {
  const control = new Control();
  const values = inputValues(control);
  values.next();
  const waiting = values.next().value;
  control.set(1);
  control.set(2);
  expect(await waiting).toBe(1);
  expect(values.next().value).toBe(2);
  const last = values.next().value;
  control.set(3);
  expect(await last).toBe(3);
});
