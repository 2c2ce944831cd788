/** What was found in a frame, as it is marked in a picture of it and listed in a table. */
import type { FrameSurvey, MeasuredStar } from '@holdfast/sim';
import { significant, withError } from '@holdfast/sim/internal';
import { textTable } from './text-table.ts';

/** One light of a frame. Lengths in px of the frame. */
export interface FrameMark {
  /** Of a star: its number in the table, from 1; absent for what was not taken for a star. */
  readonly number?: number;
  readonly x: number;
  readonly y: number;
  /** Of its ring; without one half of its diameter by the search. */
  readonly radiusPx: number;
  /** Of the hole, where it is resolved. */
  readonly innerRadiusPx?: number;
  /** Why it is to be trusted less, or was not taken for a star: drawn dashed. */
  readonly suspect?: string;
}

const reasons: Readonly<Record<FrameSurvey['rejected'][number]['reason'], string>> = {
  larger: 'larger',
  smaller: 'small',
  elongated: 'elongated',
  'other-profile': 'other profile',
  shapeless: 'no shape',
};

/** The marks of a frame: its stars in the order of their brightness, then what was rejected. */
export function frameMarks({ stars, rejected }: Pick<FrameSurvey, 'stars' | 'rejected'>): FrameMark[] {
  const ofStars = stars.map((star, k): FrameMark => {
    const { ring, found } = star;
    const suspect = suspicion(star, stars);
    return {
      number: k + 1,
      ...(ring.ok ? ring.outerCenter : { x: found.x, y: found.y }),
      radiusPx: (ring.ok ? ring.outerDiameterPx.value : found.diameterPx) / 2,
      ...(ring.ok && ring.holeResolved ? { innerRadiusPx: ring.innerDiameterPx.value / 2 } : {}),
      ...(suspect === undefined ? {} : { suspect }),
    };
  });
  const others = rejected.map(
    ({ x, y, diameterPx, reason }): FrameMark => ({
      x,
      y,
      radiusPx: diameterPx / 2,
      suspect: reasons[reason],
    }),
  );
  return [...ofStars, ...others];
}

/** What makes a star less trusted; undefined for one without fault. */
function suspicion(
  { crowded, disturbed, saturatedFraction, missingPixels, ring }: MeasuredStar,
  all: readonly MeasuredStar[],
): string | undefined {
  const faults = [
    ...(saturatedFraction > 0 ? ['saturated'] : []),
    ...(crowded ? ['another star near'] : disturbed ? ['other light in it'] : []),
    ...(missingPixels > 0 ? ['pixels missing'] : []),
    ...(!ring.ok && ring.reason === 'no-ring' && all.some((other) => other.ring.ok)
      ? ['no ring, unlike others']
      : []),
    // Of a saturated star it is said already.
    ...(ring.ok || ['no-ring', 'not-asked', 'saturated'].includes(ring.reason)
      ? []
      : [`ring ${ring.reason.replaceAll('-', ' ')}`]),
  ];
  return faults.length === 0 ? undefined : faults.join(', ');
}

/** What else lights the window of a star, to stand behind what was measured of it. */
export function lightBeside({ crowded, disturbed }: Pick<MeasuredStar, 'crowded' | 'disturbed'>): string {
  if (crowded) return '; another star is near: trust the ring less';
  return disturbed ? '; other light falls into its window: trust its positions less' : '';
}

const mostRows = 20;

/** The stars of a frame as a table, numbered as their marks. */
export function starTable(stars: readonly MeasuredStar[]): string[] {
  const rows = stars
    .slice(0, mostRows)
    .map((star, k) => [
      String(k + 1),
      significant(star.x, 5),
      significant(star.y, 5),
      significant(star.snr, 3),
      star.ring.ok ? withError(star.ring.outerDiameterPx) : '',
      suspicion(star, stars) ?? '',
    ]);
  return [
    ...textTable([
      ['star', 'x', 'y', 'SNR', 'ring', 'trust it less'],
      ['', 'px', 'px', '', 'px', ''],
      ...rows,
    ]),
    ...(stars.length > mostRows ? [`and ${stars.length - mostRows} fainter ones.`] : []),
  ];
}
