/** Straight line through samples that follow each other, its errors by their scatter about it. */
import { fitLine, type StraightLine, scaledByScatter } from '@holdfast/psf/numerics';

export function lineThrough(samples: readonly number[]): StraightLine {
  const line = fitLine(samples.map((y, x) => ({ x, y, sigma: 1 })));
  if (line === undefined) throw new Error('a line needs two samples');
  return scaledByScatter(line);
}
