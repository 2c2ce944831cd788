/**
 * The two ways in which a test of this project compares numbers: each says why its tolerance is what it is.
 */
import { expect } from 'vitest';

/** Two-sided: |value - reference| <= tolerance, with the reason for the tolerance. */
export function expectWithin(value: number, reference: number, tolerance: number, why: string): void {
  const off = Math.abs(value - reference);
  expect(
    off <= tolerance,
    `got ${value}, expected ${reference} +- ${tolerance} (${why}); off by ${off}`,
  ).toBe(true);
}

/** For a simulated mean: within `sigmas` standard errors of the reference. */
export function expectWithinSigmas(
  mean: number,
  reference: number,
  standardError: number,
  sigmas: number,
): void {
  const off = Math.abs(mean - reference) / standardError;
  expect(
    standardError > 0 && off <= sigmas,
    `got ${mean} +- ${standardError}, expected ${reference}; off by ${off} standard errors, allowed ${sigmas}`,
  ).toBe(true);
}
