/** Whether the numbers of a telescope can belong together. */
import type { RigFault } from './rig-fault.ts';

/**
 * No image in air has a faster cone: F = 1 / (2 sin u) of an optic free of coma (Abbe sine condition,
 * textbook).
 */
const fastest = 0.5;
/** Slower than any telescope: diffraction alone makes a star of f/500 a quarter of a millimeter wide. */
const slowest = 500;

export function telescopeFaults(input: unknown): RigFault[] {
  const { telescope } = (input ?? {}) as Record<string, unknown>;
  const { apertureMm, focalLengthMm } = (telescope ?? {}) as Record<string, unknown>;
  if (!isPositive(apertureMm) || !isPositive(focalLengthMm)) return [];
  const fNumber = focalLengthMm / apertureMm;
  const got = `${focalLengthMm} (f/${Number(fNumber.toPrecision(2))})`;
  const range = `${fastest} to ${slowest} times the aperture`;
  if (fNumber < fastest)
    return [
      {
        field: 'telescope.focalLengthMm',
        got,
        allowed: `${range} (f/${Number(fNumber.toPrecision(2))} cannot be: are focal length and aperture swapped?)`,
      },
    ];
  return fNumber > slowest ? [{ field: 'telescope.focalLengthMm', got, allowed: range }] : [];
}

const isPositive = (value: unknown): value is number =>
  typeof value === 'number' && value > 0 && value < Infinity;
