/** Where the cone of light of each star seems to come from. */
import { fNumber } from '@holdfast/psf';
import { requirePositive } from '@holdfast/psf/numerics';
import type { PickoffOptions } from './pickoff-options.ts';

/**
 * Distance from the exit pupil to the focal plane, mm.
 *
 * One mirror or lens is its own exit pupil: the focal length. In a two-mirror telescope it is the image of
 * the first mirror in the second, with m the second one's magnification, f1 the first one's focal length, b =
 * back focus / f1, k = (1 + b) / (m + 1):
 *
 *   k m f1 + s f2 / (s + f2),   s = (1 - k) f1 between the mirrors,   f2 = k m f1 / (m - 1)
 *
 * (the thin-lens formula; derived). A plate in front of the first mirror, as the stop, is seen in that mirror
 * first. For other kinds of telescope the focal length is a fair guess; give it when you know it.
 */
export function exitPupilDistance({
  apertureMm,
  focalLengthMm,
  design,
}: Pick<PickoffOptions, 'apertureMm' | 'focalLengthMm' | 'design'>): number {
  if (design === undefined || !('backFocusMm' in design)) return focalLengthMm;
  const { primaryFNumber, backFocusMm } = design;
  const m =
    ('secondaryMagnification' in design ? design.secondaryMagnification : undefined) ??
    fNumber({ apertureMm, focalLengthMm }) /
      requirePositive('design.primaryFNumber', primaryFNumber as number);
  if (!(m > 1)) throw new RangeError(`design.secondaryMagnification must be > 1, got ${m}`);
  const f1 = focalLengthMm / m;
  const k = (1 + backFocusMm / f1) / (m + 1);
  if (!(k > 0 && k < 1))
    throw new RangeError(
      `design.backFocusMm must be in (${-f1}, ${focalLengthMm}) for these mirrors, got ${backFocusMm}`,
    );
  const apart = (1 - k) * f1;
  const f2 = (k * m * f1) / (m - 1);
  // From the second mirror to the stop as the first one shows it: the first mirror itself, or a plate in
  // front of it.
  const plate = design.design === 'catadioptric' ? (design.correctorMm ?? apart) : 0;
  const toStop = plate === f1 ? Infinity : apart + (plate * f1) / (f1 - plate);
  return k * m * f1 + f2 / (1 + f2 / toStop);
}
