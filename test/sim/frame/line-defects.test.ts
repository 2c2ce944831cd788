/** Columns that stand off are set level from the very pixel on where they begin. */
import { randomStream } from '@holdfast/psf';
import { expect, test } from 'vitest';
import { FrameFaults } from '../../../packages/sim/src/frame/search/frame-faults.ts';
import { levelLines } from '../../../packages/sim/src/frame/search/line-defects.ts';

const [width, height, sigma] = [300, 280, 5];

/** What is left of columns that stand off from some row on: rms in the rows from -20 to 20 about it. */
function leftOf(columns: readonly (readonly [x: number, from: number, electrons: number])[]): number {
  const random = randomStream('columns', 1);
  const noise = Float32Array.from({ length: width * height }, () => sigma * random.normal());
  const pixels = noise.slice();
  for (const [x, from, electrons] of columns)
    for (let y = from; y < height; y++) pixels[y * width + x]! += electrons;
  levelLines(new FrameFaults(pixels), width, height, sigma);
  let [squares, count] = [0, 0];
  for (const [x, from] of columns)
    for (let y = from - 20; y < from + 20; y++, count++)
      squares += (pixels[y * width + x]! - noise[y * width + x]!) ** 2;
  return Math.sqrt(squares / count);
}

test('a column that begins anywhere is taken off from its first pixel on', () => {
  // up to 8 pixels were left or taken too much: rms 40 and more
  for (const from of [97, 103, 150, 161]) expect(leftOf([[120, from, 200]])).toBeLessThan(sigma);
});

test('two columns side by side do not mislead each other', () => {
  const pair = [
    [120, 100, 366],
    [121, 150, 270],
  ] as const;
  // 115 electrons were added to the column beside them
  expect(leftOf(pair)).toBeLessThan(sigma);
});

test('columns at the edge of the frame are seen, too', () => {
  expect(leftOf([[0, 130, 200]])).toBeLessThan(sigma);
  expect(leftOf([[width - 1, 130, 200]])).toBeLessThan(sigma);
});
