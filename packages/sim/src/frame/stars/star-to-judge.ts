/** Which star of a frame an advice on the focus may rest on. */
import type { MeasuredStar } from './measured-star.ts';

type Judgeable = Pick<MeasuredStar, 'ring' | 'saturatedFraction' | 'light'>;

/** The star that an advice is about, or why there is none. */
export type StarToJudge<Star> =
  | { readonly ok: true; readonly star: Star }
  | { readonly ok: false; readonly reason: string };

/**
 * The brightest star that has no saturated pixel and whose ring was measured. A ring that was not measured is
 * not a star in focus: it says nothing of the focus.
 *
 * @param stars  of one frame, brightest first, as `measureFrame` gives them with `fNumber` and `pixelSizeUm`
 * @returns the star, or for people why there is none
 */
export function starToJudge<Star extends Judgeable>(stars: readonly Star[]): StarToJudge<Star> {
  const star = stars.find((each) => whyNot(each) === undefined);
  if (star !== undefined) return { ok: true, star };
  if (stars.length === 0) return { ok: false, reason: 'no star stands out of the noise' };
  const reasons = [...new Set(stars.map(whyNot))].join('; ');
  const which =
    stars.length === 1 ? 'the one star of the frame' : `none of the ${stars.length} stars of the frame`;
  return { ok: false, reason: `${which} ${stars.length === 1 ? 'cannot' : 'can'} be judged: ${reasons}` };
}

function whyNot({ ring, saturatedFraction, light }: Judgeable): string | undefined {
  if (saturatedFraction > 0) return 'saturated: expose for less time';
  if (light === undefined || !(light.fluxE.value > 0)) return 'no light in its window';
  if (!ring.ok) return reasonWords[ring.reason] ?? ring.reason;
  return ring.absFocusShiftUm === undefined ? 'F-number or pixel size is not known' : undefined;
}

const reasonWords: Readonly<Record<string, string>> = {
  'no-ring': 'too small for a ring to be measured: it may be in focus, and this frame cannot tell how near',
  'too-faint': 'too faint for its ring to be measured',
  'too-few-pixels': 'too few pixels for its ring to be measured',
  'not-converged': 'its light does not have the shape of a ring',
  clipped: 'its ring is cut by the edge of the frame',
};
