/**
 * Frozen numbers: what the code gave when this was written. They may be wrong; they are here so that a change
 * which alters every simulated frame cannot pass unseen, and so that two machines can be compared.
 */
import { prepareExposure, randomStream } from '@holdfast/psf';
import { expect, test } from 'vitest';
import { exp, log } from '../../packages/psf/src/numerics/exp-log.ts';

test('the first numbers of one stream stay what they were, to the last bit', () => {
  const stream = () => randomStream('frozen', 7, 'a');
  const take = (draw: () => number) => [draw(), draw(), draw()];
  const uniform = stream();
  const normal = stream();
  const small = stream();
  const large = stream();
  expect(take(() => uniform.uniform())).toEqual([
    0.44508742273960655, 0.09762686045864943, 0.931363816883506,
  ]);
  expect(take(() => normal.normal())).toEqual([
    0.38946787607970546, 0.3185766460280619, -0.13206482140813902,
  ]);
  expect(take(() => small.poisson(1.85))).toEqual([1, 0, 4]);
  expect(take(() => large.poisson(1234.5))).toEqual([1229, 1300, 1232]);
});

/** A number that changes when any bit of any value does (FNV-1a over 32-bit words). */
function digest(values: Iterable<number>): string {
  let hash = 0x811c9dc5;
  for (const word of new Uint32Array(Float64Array.from(values).buffer))
    hash = Math.imul(hash ^ word, 0x01000193);
  return (hash >>> 0).toString(16);
}

test('exponentials, logarithms and normal numbers stay what they were, to the last bit', () => {
  const at = Array.from({ length: 20_000 }, (_, i) => i + 1);
  const stream = randomStream('frozen', 'digest');
  expect(digest(at.map((i) => exp(7 - 0.0007 * i)))).toBe('87813cd2');
  expect(digest(at.map((i) => log(0.0013 * i)))).toBe('d13ea5cd');
  expect(digest(at.map(() => stream.normal()))).toBe('3f9073c8');
});

test('a camera frame stays what it was', () => {
  const expected = Float64Array.from({ length: 24 * 17 }, (_, k) => 0.3 * k);
  const camera = { readNoiseE: 1.5, gainEPerAdu: 0.5, offsetAdu: 100, bitDepth: 12, fullWellE: 12_000 };
  const frame = new Float64Array(expected.length);
  prepareExposure(camera, { width: 24, height: 17 }).exposeInto(
    frame,
    expected,
    randomStream('frozen', 'frame'),
  );
  expect([...frame.subarray(0, 4), ...frame.subarray(-4)]).toEqual([
    0.5, -1, -1, 3, 97.5, 133.5, 129.5, 120.5,
  ]);
  expect(digest(frame)).toBe('70f5bb85');
});
