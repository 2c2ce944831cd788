import { adviseStar } from '@holdfast/sim';
import { resultUntil, yieldBy } from '@holdfast/sim/internal';
import { afterEach, expect, test } from 'vitest';
import { smallRig } from './small-rig.ts';

const nextTask = (): Promise<void> => new Promise((resolve) => setTimeout(resolve));
const usual = { afterMs: 40, turn: nextTask };
afterEach(() => yieldBy(usual));

const star = (signal?: AbortSignal) =>
  adviseStar(smallRig(), { focusShiftUm: 150 }, { seed: 1, trials: 1024, ...(signal ? { signal } : {}) });

test('long work goes on only when it is told to, and comes to the same', async () => {
  const alone = await star();
  let turns = 0;
  let wake = () => {};
  let rests = new Promise<void>((resolve) => {
    wake = resolve;
  });
  yieldBy({
    afterMs: 0,
    async turn() {
      turns++;
      await rests;
    },
  });
  let isDone = false;
  const resting = star().then((advice) => {
    isDone = true;
    return advice;
  });
  for (let i = 0; i < 20; i++) await nextTask();
  expect(isDone).toBe(false);
  expect(turns).toBe(1);
  rests = Promise.resolve();
  wake();
  expect(await resting).toEqual(alone);
  // After every 8 of the 256 frames of two stars, and not just once per star.
  expect(turns).toBeGreaterThanOrEqual(64);
});

test('a canceled one ends at its next step', async () => {
  const controller = new AbortController();
  yieldBy({ afterMs: 0, turn: nextTask });
  let steps = 0;
  const work = resultUntil(
    (function* (): Generator<void, void> {
      for (; steps < 1000; steps++) {
        if (steps === 5) controller.abort(new Error('enough'));
        yield;
      }
    })(),
    controller.signal,
  );
  await expect(work).rejects.toThrow('enough');
  expect(steps).toBe(5);
});
