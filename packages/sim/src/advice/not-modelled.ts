/** What the numbers of an advice do not know of: each line is something that can turn an answer around. */
import { edgeStar } from '../pickoff/edge-star.ts';
import type { Rig } from '../rig/rig-schema.ts';

/** For people, kept short on purpose. */
export function notModelledFor(rig: Rig): string[] {
  const star = edgeStar(rig);
  return [
    ...(rig.starModel === 'geometric'
      ? [
          'diffraction and the wings of moving air: rays with a Gaussian blur make the error 10 to 35 % too small',
        ]
      : []),
    ...(star.aberrations === undefined && star.offAxisMm > 0
      ? ["coma and astigmatism of the guide star: the telescope's design is not known"]
      : []),
    ...(star.from === 'axis'
      ? ['coma and astigmatism of the guide star, and a beam that the pick-off clips: no pick-off is named']
      : []),
    ...(rig.focuser?.moves === 'first-mirror'
      ? [
          'the tilt of the first mirror when the focuser moves it: the stars jump at each change of direction; pause guiding meanwhile',
        ]
      : []),
    "light that the pick-off's flank reflects into the picture",
    'faint neighbour stars, hot pixels and clouds',
    'color: the guide band as a whole is focused as if it had the color of the main picture',
  ];
}
