import { normalProbability } from './goodness-of-fit.ts';

const end = 9;
const perUnit = 50;
const table = new Float64Array(2 * end * perUnit + 1);
for (let i = 1; i < table.length; i++)
  table[i] = table[i - 1] + normalProbability((i - 1) / perUnit - end, i / perUnit - end);

/** Standard normal distribution by Simpson's rule, to some 1e-11. */
export function normalCdf(z: number): number {
  if (!(z > -end)) return 0;
  if (z >= end) return 1;
  const i = Math.floor((z + end) * perUnit);
  return table[i] + normalProbability(i / perUnit - end, z);
}
