/** Level and slope around a star against medians of sorted lists: what counting alone tells is the same. */
import { randomStream } from '@holdfast/psf';
import { expect, test } from 'vitest';
import { measureSurroundings } from '../../packages/centroid/src/search/surroundings.ts';

const side = 61;
const sigma = 5;

function medianOf(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[middle] : (sorted[middle - 1] + sorted[middle]) / 2;
}

function plainly(pixels: Float32Array, x: number, y: number, radius: number) {
  const inner = radius + 1;
  const outer = inner + Math.max(3, 0.3 * radius);
  const ring: { dx: number; dy: number; light: number }[] = [];
  for (let j = 0; j < side; j++)
    for (let i = 0; i < side; i++) {
      const r2 = (i - x) ** 2 + (j - y) ** 2;
      const light = pixels[j * side + i];
      if (r2 >= inner * inner && r2 <= outer * outer && Number.isFinite(light))
        ring.push({ dx: i - x, dy: j - y, light });
    }
  const slopeAlong = (axis: 'dx' | 'dy'): number => {
    const [low, high] = [ring.filter((at) => at[axis] < 0), ring.filter((at) => at[axis] > 0)];
    if (low.length < 3 || high.length < 3) return 0;
    const meanOf = (half: typeof ring) => half.reduce((sum, at) => sum + at[axis], 0) / half.length;
    const apart = meanOf(high) - meanOf(low);
    const slope =
      (medianOf(high.map(({ light }) => light)) - medianOf(low.map(({ light }) => light))) / apart;
    const error = (Math.sqrt(Math.PI / 2) * sigma * Math.sqrt(1 / low.length + 1 / high.length)) / apart;
    return Math.abs(slope) > 3 * error ? slope : 0;
  };
  const [slopeX, slopeY] = [slopeAlong('dx'), slopeAlong('dy')];
  const level = medianOf(ring.map(({ dx, dy, light }) => light - (slopeX * dx + slopeY * dy)));
  return { level: ring.length > 0 ? level : 0, slopeX, slopeY };
}

test('level and slope are those of the medians, to the bit', () => {
  let [level, sloping] = [0, 0];
  for (let i = 0; i < 600; i++) {
    const random = randomStream('surroundings', i);
    // Slopes about the least that is told, light of a neighbor, missing pixels, places near an edge
    const [sx, sy] = [0, 0].map(() => (random.uniform() - 0.5) * random.uniform());
    const missing = random.uniform() < 0.3 ? 0.3 : 0;
    const lit = random.uniform() < 0.3 ? 12 : 0;
    const pixels = Float32Array.from({ length: side * side }, (_, k) => {
      const light = sigma * random.normal() + sx * (k % side) + sy * Math.floor(k / side);
      return random.uniform() < missing ? Number.NaN : light + (k % side < 24 ? lit : 0);
    });
    const isWhole = i % 3 === 0;
    const [x, y] = [0, 0]
      .map(() => (side - 1) * random.uniform())
      .map((at) => (isWhole ? Math.round(at) : at));
    const radius = 1 + 20 * random.uniform();
    const found = measureSurroundings(pixels, side, side, x, y, radius, sigma);
    expect(found).toEqual(plainly(pixels, x, y, radius));
    if (found.slopeX === 0 && found.slopeY === 0) level++;
    else sloping++;
  }
  expect(level).toBeGreaterThan(100);
  expect(sloping).toBeGreaterThan(100);
});
