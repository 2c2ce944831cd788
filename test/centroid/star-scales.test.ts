/** Where light stands out, against plain sums over every box of a small frame. */
import { randomStream, renderStar } from '@holdfast/psf';
import { expect, test } from 'vitest';
import { reachOf, significanceOf } from '../../packages/centroid/src/search/box-contrast.ts';
import { findContrasts } from '../../packages/centroid/src/search/star-scales.ts';

const [width, height, sigma, least] = [151, 96, 5, 6];

/** Noise, and 40 faint stars of each width about the least contrast. */
function frame(): Float32Array {
  const random = randomStream('star-scales');
  const light = Float64Array.from({ length: width * height }, () => sigma * random.normal());
  for (let n = 0; n < 120; n++) {
    const place = { width, height, x: width * random.uniform(), y: height * random.uniform() };
    const flux = (10 + 20 * random.uniform()) * sigma * (1 + (n % 3));
    const star = renderStar({ kind: 'gaussian', fwhmPx: [1.5, 3, 6][n % 3] }, { ...place, flux });
    for (let k = 0; k < light.length; k++) light[k] += star.data[k];
  }
  return Float32Array.from(light);
}

function contrastAt(light: Float32Array, x: number, y: number, side: number): number {
  const { w, h, W, H } = reachOf(x, y, side, width, height);
  const n = (2 * w + 1) * (2 * h + 1);
  const m = (2 * W + 1) * (2 * H + 1) - n;
  if (n < 0.6 * side * side || m < 0.5 * n) return -Infinity;
  let [inside, around] = [0, 0];
  for (let j = y - H; j <= y + H; j++)
    for (let i = x - W; i <= x + W; i++)
      if (Math.abs(i - x) <= w && Math.abs(j - y) <= h) inside += light[j * width + i];
      else around += light[j * width + i];
  return significanceOf(inside, n, around, m, sigma);
}

test.each([3, 5, 9])(
  'every maximum of the boxes of side %i is found, though not every box is looked at',
  (side) => {
    const light = frame();
    const all = Float64Array.from(light, (_, k) => contrastAt(light, k % width, Math.floor(k / width), side));
    const at = (x: number, y: number): number =>
      x < 0 || y < 0 || x >= width || y >= height ? -Infinity : all[y * width + x];
    const expected: string[] = [];
    for (let y = 0; y < height; y++)
      for (let x = 0; x < width; x++) {
        const around = [-1, 0, 1].flatMap((j) =>
          [-1, 0, 1].map((i) => (i || j ? at(x + i, y + j) : -Infinity)),
        );
        if (at(x, y) >= least && around.every((other) => other < at(x, y))) expected.push(`${x}, ${y}`);
      }
    expect(expected.length).toBeGreaterThan(15);
    const found = findContrasts(light, width, height, { sigma, least, sides: [side], withStructure: false });
    expect(found.candidates.map(({ x, y }) => `${x}, ${y}`).sort()).toEqual(expected.sort());
  },
);
