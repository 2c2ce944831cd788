/** How deep a pick-off should reach, for the rig's own or for one of common size. */
import { type PickoffMount, type PickoffTradeOff, pickoffTradeOff, type Rig } from '@holdfast/sim';

export type Mount = Omit<PickoffMount, 'edgeFromAxisMm' | 'starOffAxisMm'>;

/**
 * For a rig that names none: a mirror of 10 x 8 mm before a sensor of 23.5 x 15.7 mm (common practice, no
 * source).
 */
const usualMount: Mount = {
  flangeDistanceMm: 66,
  openingMm: 46,
  mainSensor: { widthMm: 23.5, heightMm: 15.7 },
  mirror: { widthMm: 10, depthMm: 8, distanceMm: 40 },
};

export function mountOf(rig: Rig, distanceMm: number, allowedLoss: number): Mount {
  if (rig.pickoff === undefined)
    return { ...usualMount, mirror: { ...usualMount.mirror, distanceMm }, allowedLoss };
  const { edgeFromAxisMm: _, exitPupilDistanceMm, ...mount } = rig.pickoff;
  return {
    ...mount,
    ...(exitPupilDistanceMm === undefined ? {} : { exitPupilDistanceMm }),
    mirror: { ...mount.mirror, distanceMm },
    allowedLoss,
  };
}

export async function pickoffDepths(rig: Rig, mount: Mount, focusShiftUm: number): Promise<PickoffTradeOff> {
  return pickoffTradeOff(rig, { ...mount, focusShiftUm });
}
