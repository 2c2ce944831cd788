/** What the numbers of an advice do not know of: each line is something that can turn an answer around. */
import type { Rig } from '../rig/rig-schema.ts';

/** For people, kept short on purpose. */
export function notModelledFor(rig: Rig): string[] {
  return [
    ...(rig.starModel === 'geometric'
      ? [
          'diffraction within the ring: the ring is drawn by geometric optics, coarse within about one wave of focus',
        ]
      : []),
    ...(rig.offAxis === undefined
      ? ['coma, astigmatism and field curvature of the guide star, and a beam that the pick-off clips']
      : []),
    'faint neighbour stars, hot pixels and clouds',
    'colour: the guide star is focused as if it had the colour of the main picture',
    'mount errors that a longer correction interval leaves uncorrected',
  ];
}
