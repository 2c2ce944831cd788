import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import { figureDocument } from '../../examples/figures/figure-document.ts';
import { Place } from '../../examples/notebook/place.ts';

beforeEach(() => {
  vi.stubGlobal('document', figureDocument());
  vi.useFakeTimers();
});
afterEach(() => {
  vi.useRealTimers();
  vi.unstubAllGlobals();
});

const setUp = () => {
  const box = document.createElement('div');
  const place = new Place(box as unknown as HTMLElement);
  return { box, place, isStale: () => box.classList.contains('stale') };
};
const [one, other] = [{}, {}];

test('an older answer is told to be busy at once, and marked once the next takes long', () => {
  const { box, place, isStale } = setUp();
  place.waits(one);
  expect(box.getAttribute('aria-busy')).toBe('true');
  vi.advanceTimersByTime(60);
  expect(isStale()).toBe(false);
  vi.advanceTimersByTime(60);
  expect(isStale()).toBe(true);
  place.shows(one);
  expect(isStale()).toBe(false);
  expect(box.getAttribute('aria-busy')).toBe('false');
});

test('what follows at once is never marked; while one after the other waits, the first of them counts', () => {
  const { place, isStale } = setUp();
  place.waits(one);
  vi.advanceTimersByTime(60);
  place.shows(one);
  vi.advanceTimersByTime(200);
  expect(isStale()).toBe(false);
  place.waits(one);
  vi.advanceTimersByTime(60);
  place.waits(other);
  place.shows(one);
  vi.advanceTimersByTime(60);
  expect(isStale()).toBe(true);
});

test('a failure is marked and told at once, until there is an answer', () => {
  const { box, place, isStale } = setUp();
  place.fails(one, new Error('no star'));
  expect(isStale()).toBe(true);
  expect(box.textContent).toContain('No answer: no star');
  place.waits(one);
  expect(isStale()).toBe(true);
  place.shows(one);
  expect(isStale()).toBe(false);
  expect(box.textContent).not.toContain('No answer');
});
