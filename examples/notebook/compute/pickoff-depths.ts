/** How deep a pick-off should reach, for the rig's own or for one of common size. */
import type { CancelSignal, PickoffMount, PickoffTradeOff, Rig } from '@holdfast/sim';
import { formulaLimits, pickoffTradeOffInSteps, resultUntil } from '@holdfast/sim/internal';

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

export function mountOf(rig: Rig, distanceMm: number, allowedLossPercent: number): Mount {
  if (rig.pickoff === undefined)
    return { ...usualMount, mirror: { ...usualMount.mirror, distanceMm }, allowedLossPercent };
  const { edgeFromAxisMm: _, exitPupilDistanceMm, ...mount } = rig.pickoff;
  return {
    ...mount,
    ...(exitPupilDistanceMm === undefined ? {} : { exitPupilDistanceMm }),
    mirror: { ...mount.mirror, distanceMm },
    allowedLossPercent,
  };
}

/** Depths at which the rig's own method is predicted: each takes as long as a first answer. */
const predicted = 8;

/**
 * @param withLimits  also what the rig's own method makes of the star of each depth, by formula, at fewer
 *   depths
 */
export async function pickoffDepths(
  rig: Rig,
  mount: Mount,
  focusShiftUm: number,
  withLimits: boolean,
  signal: CancelSignal,
): Promise<PickoffTradeOff> {
  const more = withLimits ? { steps: predicted, limits: formulaLimits } : {};
  return resultUntil(pickoffTradeOffInSteps(rig, { ...mount, focusShiftUm, ...more }), signal);
}
