/**
 * Frozen numbers: what the code gave when this was written. They may be wrong; they are here so that a change which
 * alters every simulated frame cannot pass unseen, and so that two machines can be compared.
 */
import { randomStream } from '@holdfast/psf';
import { expect, test } from 'vitest';

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
