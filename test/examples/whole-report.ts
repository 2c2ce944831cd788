/** What holds of the data of every report. */
import { expect } from 'vitest';
import type { Answered } from './run-example.ts';

/** Every number of a report has its error, and nothing that does not follow the star is kept. */
export function expectWhole({ advice, curve, stars }: Answered['data'], filters: number): void {
  expect(advice.filters).toHaveLength(filters);
  for (const { assessment, outcome } of advice.filters) {
    expect(assessment.error.boundPx).toBeGreaterThan(0);
    if (assessment.error.followsStar) {
      expect(assessment.error.noiseEquivalentPx.standardError).toBeGreaterThan(0);
      expect(assessment.growth.growthPercent.standardError).toBeGreaterThan(0);
    } else expect(outcome).not.toBe('keep');
  }
  expect(curve).toHaveLength(13 * 4);
  expect(stars).toHaveLength(5);
}
