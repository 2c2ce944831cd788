/**
 * Numbers settle: the first answer of the page is a range that holds the later one. All 200 rigs take
 * minutes: their answers stand in a table, and some of them are computed again.
 */
import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { isNarrow, judgeFirstAnswer } from './judge-first-answer.ts';
import { randomRigs } from './random-rigs.ts';

const [, ...lines] = readFileSync(new URL('../studies/first-answer.csv', import.meta.url), 'utf8')
  .trim()
  .split('\n');
const table = lines.map((line) => {
  const [, value, low, high, held] = line.split(',');
  return { value: Number(value), low: Number(low), high: Number(high), isHeld: held === 'true' };
});

test('the limit of few frames is a range that holds the limit of many for 95 % of 200 random rigs', () => {
  expect(table.length).toBe(200);
  expect(table.filter(({ isHeld }) => isHeld).length).toBeGreaterThanOrEqual(0.95 * table.length);
  expect(table.filter(isNarrow).length).toBeGreaterThanOrEqual(0.8 * table.length);
});

// Each answer is the end of a search through simulated frames: a change of the code moves nearly all of them.
test('the table is that of the code as it is: a change that moves its answers renews it', () => {
  const rigs = randomRigs(table.length);
  for (const i of [2, 50, 134, 199]) {
    const { isHeld, ...range } = judgeFirstAnswer(rigs[i]);
    expect(isHeld, `rig ${i}`).toBe(table[i].isHeld);
    for (const part of ['value', 'low', 'high'] as const)
      expect(range[part], `rig ${i}, ${part}`).toBeCloseTo(table[i][part], 6);
  }
});
