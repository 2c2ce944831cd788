/** How faint the guide star may be as the focus goes. */
import { type GuideStarLimit, guideStarLimit, type Rig } from '@holdfast/sim';

export async function starLimit(
  rig: Rig,
  focusShiftUm: number,
  seed: string,
  trials: number,
): Promise<GuideStarLimit> {
  return guideStarLimit(rig, { focusShiftUm, seed, trials });
}
