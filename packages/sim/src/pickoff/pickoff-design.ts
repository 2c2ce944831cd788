/** The telescope's design as a rig names it, for the star at the edge of its field. */
import { fNumber } from '@holdfast/psf';
import type { Rig } from '../rig/rig-schema.ts';
import type { TelescopeDesign } from './pickoff-options.ts';

/** The design that a rig gives for its star off the axis; undefined when it gives none. */
export function designOfRig({
  offAxis,
  telescope,
}: Pick<Rig, 'offAxis' | 'telescope'>): TelescopeDesign | undefined {
  const design = offAxis?.telescope;
  if (design?.design !== 'corrected') return design;
  const { knownAtMm, sagittalComaUm, astigmatismUm } = design;
  // The two line images lie this far to either side of the circle of least confusion.
  const apart = astigmatismUm * fNumber(telescope.apertureMm, telescope.focalLengthMm);
  return {
    design: 'corrected',
    known: {
      offAxisMm: knownAtMm,
      sagittalComaUm,
      tangentialFocusShiftUm: apart,
      sagittalFocusShiftUm: -apart,
    },
  };
}
