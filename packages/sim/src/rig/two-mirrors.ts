/** Where the second mirror of a telescope stands, and which numbers no pair of mirrors can have. */
import { type RigFault, shown } from './rig-fault.ts';

/** Two mirrors as a rig file tells them. */
export interface TwoMirrors {
  readonly primaryFNumber: number;
  /** From the vertex of the first mirror to the focal plane behind it, mm. */
  readonly backFocusMm: number;
}

interface Lengths {
  readonly apertureMm: number;
  readonly focalLengthMm: number;
}

/**
 * Magnification of the second mirror and its distance from the first, mm: m = F / F1, and with k = (1 + b /
 * f1) / (m + 1) it stands (1 - k) f1 in front of the first (geometry).
 */
export function secondMirror(
  { apertureMm, focalLengthMm }: Lengths,
  { primaryFNumber, backFocusMm }: TwoMirrors,
): { magnification: number; separationMm: number; backFocusMm: number } {
  const magnification = focalLengthMm / apertureMm / primaryFNumber;
  const f1 = focalLengthMm / magnification;
  const k = (1 + backFocusMm / f1) / (magnification + 1);
  return { magnification, separationMm: (1 - k) * f1, backFocusMm };
}

/** @param field  where the mirrors stand in the rig file */
export function mirrorFaults(field: string, mirrors: TwoMirrors, telescope: unknown): RigFault[] {
  const { apertureMm, focalLengthMm } = (telescope ?? {}) as Record<string, unknown>;
  if (!isPositive(apertureMm) || !isPositive(focalLengthMm)) return [];
  const { magnification, separationMm } = secondMirror({ apertureMm, focalLengthMm }, mirrors);
  const f1 = focalLengthMm / magnification;
  if (!(magnification > 1))
    return [
      {
        field: `${field}.primaryFNumber`,
        got: shown(mirrors.primaryFNumber),
        allowed: `< ${focalLengthMm / apertureMm}, the F-number of the whole telescope`,
      },
    ];
  if (!(separationMm > 0 && separationMm < f1))
    return [
      {
        field: `${field}.backFocusMm`,
        got: shown(mirrors.backFocusMm),
        allowed: `> ${-f1} and < ${focalLengthMm} for these mirrors`,
      },
    ];
  return [];
}

const isPositive = (value: unknown): value is number =>
  typeof value === 'number' && value > 0 && value < Infinity;
