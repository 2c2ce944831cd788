/** Where the full star of a pick-off gets another answer than a plain ring on the axis, and by what. */
import {
  adviseStar,
  buildScene,
  type LongWorkOptions,
  type Outcome,
  type Rig,
  type Scene,
} from '@holdfast/sim';
import { guideErrorOf, leastError } from '@holdfast/sim/internal';

/** One telescope at one shift. */
export interface RingOrStar {
  readonly telescope: string;
  readonly ringDiameterPx: number;
  readonly focusShiftUm: number;
  /** By a ring on the axis, by rays, of the whole beam; and by the star that the pick-off sees. */
  readonly ring: RingOrStarAnswer;
  readonly star: RingOrStarAnswer;
  /**
   * What makes the least possible error larger, each as a factor; their product is that of star over ring.
   */
  readonly factors: {
    /** Wings of the moving air, diffraction and colors, on the axis. */
    readonly wings: number;
    /** Coma, astigmatism and the shape that clipping leaves. */
    readonly shape: number;
    /** Light that the pick-off does not pass on. */
    readonly light: number;
  };
  /** Share of the light that arrives, 0 to 1. */
  readonly lightShare: number;
  /** Electrons of the star's brightest pixel over those of the ring's, background off. */
  readonly peakRatio: number;
}

export interface RingOrStarAnswer {
  readonly outcome: Outcome;
  /** Noise-equivalent error, one axis, arcsec; absent where no frame gave a position. */
  readonly noiseArcsec?: number;
  readonly lostFraction: number;
  /** The least share of a displacement that the method follows, of both axes. */
  readonly response?: number;
}

export interface RingOrStarOptions extends LongWorkOptions {
  readonly seed: string;
  readonly trials: number;
}

/** Rings that are compared, outer diameter in px. */
export const comparedRings = [0, 4, 8, 12, 18, 24, 32, 44] as const;

/** The plain ring of a rig, in the window of its star. */
function onAxis({ pickoff: _, offAxis: __, telescope: { design: ___, ...telescope }, ...rig }: Rig): Rig {
  return { ...rig, telescope, starModel: 'geometric' };
}

export async function ringOrStar(
  rigs: readonly Rig[],
  rings: readonly number[],
  { seed, trials, onProgress, signal }: RingOrStarOptions,
): Promise<RingOrStar[]> {
  const cells: RingOrStar[] = [];
  for (const own of rigs) {
    // A window matched to the ring would be narrower, and the answers would differ by that.
    const { windowPx } = buildScene(own, { focusShiftUm: own.guideFocusShiftUm });
    const rig: Rig = { ...own, tracking: { ...own.tracking, windowPx } };
    for (const ringDiameterPx of rings) {
      const { pixelSizeUm, binning } = rig.guideCamera;
      const { focalLengthMm, apertureMm } = rig.telescope;
      const focusShiftUm = (ringDiameterPx * pixelSizeUm * binning * focalLengthMm) / apertureMm;
      const long = { seed, trials, ...(signal ? { signal } : {}) };
      const answer = async (one: Rig): Promise<RingOrStarAnswer> => {
        const { outcome, assessment } = await adviseStar(one, { focusShiftUm }, long);
        const error = guideErrorOf(assessment.error, assessment.scene.arcsecPerPx);
        const noise =
          error && Math.sqrt((error.x.noiseArcsec.value ** 2 + error.y.noiseArcsec.value ** 2) / 2);
        return {
          outcome,
          lostFraction: assessment.error.lostFraction.value,
          ...(noise === undefined ? {} : { noiseArcsec: noise }),
          ...(error === undefined ? {} : { response: Math.min(error.x.response, error.y.response) }),
        };
      };
      const plain = onAxis(rig);
      cells.push({
        telescope: rig.name,
        ringDiameterPx,
        focusShiftUm,
        ring: await answer(plain),
        star: await answer(rig),
        ...factorsOf(plain, rig, focusShiftUm),
      });
      const total = rigs.length * rings.length;
      onProgress?.({ task: `${rig.name}, ${ringDiameterPx} px`, done: cells.length, total });
    }
  }
  return cells;
}

function factorsOf(
  plain: Rig,
  rig: Rig,
  focusShiftUm: number,
): Pick<RingOrStar, 'factors' | 'lightShare' | 'peakRatio'> {
  const ring = buildScene(plain, { focusShiftUm });
  const { design } = rig.telescope;
  const whole: Rig = {
    ...plain,
    telescope: { ...plain.telescope, ...(design ? { design } : {}) },
    starModel: rig.starModel,
  };
  const axis = buildScene(whole, { focusShiftUm });
  const star = buildScene(rig, { focusShiftUm });
  const { fluxE, backgroundE } = axis;
  const bright: Scene = { ...star, fluxE, backgroundE };
  const [byRing, byAxis, byBright, byStar] = [ring, axis, bright, star].map(leastError);
  return {
    factors: { wings: byAxis / byRing, shape: byBright / byAxis, light: byStar / byBright },
    lightShare: star.star.lightShare,
    peakRatio: (star.peakE - star.backgroundE) / (ring.peakE - ring.backgroundE),
  };
}

/** Whether the answers differ. */
export const isFlip = ({ ring, star }: RingOrStar): boolean => ring.outcome !== star.outcome;

/** Why the answers of a cell differ, the largest part first. */
export function flipReason({ factors, lightShare, peakRatio, ring, star }: RingOrStar): string {
  const parts = [
    { factor: factors.light, words: `${(100 * lightShare).toFixed(0)} % of the light` },
    { factor: factors.shape, words: 'coma, astigmatism and clipping' },
    { factor: factors.wings, words: 'wings of moving air, diffraction and colors' },
  ].sort((a, b) => Math.abs(Math.log(b.factor)) - Math.abs(Math.log(a.factor)));
  const said = parts
    .filter(({ factor }) => Math.abs(factor - 1) > 0.02)
    .map(({ factor, words }) => `x ${factor.toFixed(2)} by ${words}`);
  const isBetter = (star.noiseArcsec ?? Infinity) < (ring.noiseArcsec ?? Infinity);
  const lost = star.lostFraction - ring.lostFraction;
  const why = said.length === 0 ? 'both stand at the edge of the budget' : `least error ${said.join(', ')}`;
  const followed = ({ response }: RingOrStarAnswer): string =>
    response === undefined ? 'is not followed' : `is followed by ${(100 * response).toFixed(0)} %`;
  return [
    why,
    ...(isBetter && peakRatio > 1.02
      ? [
          `but its brightest pixel has ${peakRatio.toFixed(2)} times the electrons of the ring's, and this method depends on bright pixels`,
        ]
      : []),
    ...(Math.abs(lost) > 0.005
      ? [`${(100 * Math.abs(lost)).toFixed(1)} % ${lost > 0 ? 'more' : 'fewer'} frames lost`]
      : []),
    ...(Math.abs((ring.response ?? 0) - (star.response ?? 0)) > 0.1
      ? [`in its window the ring ${followed(ring)}, the star ${followed(star)}`]
      : []),
  ].join('; ');
}
