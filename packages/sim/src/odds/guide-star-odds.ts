/**
 * Is there a guide star? Expected number of stars in the guide field, and the odds of at least one and at
 * least three.
 */
import { log, requireNames, requirePositive } from '@holdfast/psf/numerics';
import type { Rig } from '../rig/rig-schema.ts';
import { chanceOf, type GuideStarChance } from './guide-star-chance.ts';
import { type GuideStarLimit, type GuideStarLimitOptions, guideStarLimit } from './guide-star-limit.ts';
import { type StarCount, type StarCountOptions, starsPerDeg2 } from './star-counts.ts';

/** Where on the celestial sphere the picture is taken, and how much of it the guide camera sees. */
export interface GuideStarPlace extends Omit<StarCountOptions, 'magnitude'> {
  /**
   * The part of the guide sensor that the pick-off lights, mm on the sensor: `width` across the direction to
   * the axis, `height` along it. Default: the whole sensor.
   */
  readonly field?: { readonly widthMm: number; readonly heightMm: number };
  /**
   * Distance of the middle of the guide field from the optical axis, mm: tells how far it can be turned about
   * the axis.
   */
  readonly offAxisMm?: number;
  /**
   * How many fields are looked at, by turning the pick-off or by moving the picture a little. Default 1, 2,
   * 4, 8.
   */
  readonly positions?: readonly number[];
}

/** How likely a usable guide star is. */
export interface GuideStarOdds {
  /** The faintest usable star. */
  readonly limit: GuideStarLimit;
  /** How many stars that bright there are. */
  readonly count: StarCount;
  /** Area of the guide field, square arcmin. */
  readonly fieldArcmin2: number;
  /** Sides of the guide field, mm. */
  readonly fieldMm: { readonly widthMm: number; readonly heightMm: number };
  /** One entry for each number of positions asked for. */
  readonly chances: readonly GuideStarChance[];
  /** Fewest positions with which a star is 95 % likely; undefined when more than 1000 would be needed. */
  readonly positionsFor95: number | undefined;
  /** The whole turn about the axis, as many fields as its ring holds; undefined without `offAxisMm`. */
  readonly wholeTurn: GuideStarChance | undefined;
}

/**
 * Odds of a guide star: the faintest usable star of the rig (`guideStarLimit`), the stars that are brighter
 * by star counts (`starsPerDeg2`), and the guide field.
 *
 *   N = stars per square degree * field * positions,   P(>= 1) = mean of 1 - exp(-N f),   ln f normal, sigma = ln(factor)
 *
 * Assumes randomly placed stars, and fields that do not overlap. Not in the intervals: the color of
 * stars, the clarity of the night (a few tenths of a magnitude), clusters and dark clouds.
 *
 * ```ts
 * guideStarOdds(rig, { galacticLatitudeDeg: 60, seed: 1 }).chances[0].atLeastOne.value
 * ```
 * @throws RangeError or TypeError naming the option that is out of range
 */
export function guideStarOdds(rig: Rig, options: GuideStarLimitOptions & GuideStarPlace): GuideStarOdds {
  // What cannot be is refused before the work begins.
  requireNames(
    'options',
    options,
    'focusShiftUm leastSnr keptFraction estimator seed trials field offAxisMm positions',
    'galacticLatitudeDeg galacticLongitudeDeg from',
  );
  fieldsOf(rig, options);
  countAt(options, 0);
  return guideStarOddsOf(rig, guideStarLimit(rig, options), options);
}

/**
 * The same for a limit that is known already: cheap, so that places and fields can be tried one after the
 * other.
 *
 * @throws RangeError or TypeError naming what is out of range
 */
export function guideStarOddsOf(rig: Rig, limit: GuideStarLimit, place: GuideStarPlace): GuideStarOdds {
  const { fieldMm, fieldArcmin2, positions, inTurn } = fieldsOf(rig, place);
  const magnitude = limit.usable?.magnitude;
  const count = countAt(place, Math.min(25, Math.max(0, magnitude ?? 0)));
  // Stars brighter than magnitude 0 are nobody's hope.
  const perDeg2 = magnitude === undefined || magnitude < 0 ? 0 : count.perDeg2;
  const inOne = (perDeg2 * fieldArcmin2) / 3600;
  const chance = (n: number) => chanceOf(n, inOne * n, log(count.uncertaintyFactor));
  return {
    limit,
    count,
    fieldArcmin2,
    fieldMm,
    chances: positions.map(chance),
    positionsFor95: fewestPositions((n) => chance(n).atLeastOne.value >= 0.95),
    wholeTurn: inTurn === undefined ? undefined : chance(inTurn),
  };
}

function countAt(
  { galacticLatitudeDeg, galacticLongitudeDeg, from }: GuideStarPlace,
  magnitude: number,
): StarCount {
  return starsPerDeg2({
    magnitude,
    galacticLatitudeDeg,
    ...(galacticLongitudeDeg === undefined ? {} : { galacticLongitudeDeg }),
    ...(from === undefined ? {} : { from }),
  });
}

interface Fields {
  readonly fieldMm: { readonly widthMm: number; readonly heightMm: number };
  readonly fieldArcmin2: number;
  readonly positions: readonly number[];
  /** Fields in a whole turn about the axis. */
  readonly inTurn: number | undefined;
}

function fieldsOf(rig: Rig, { field, offAxisMm, positions = [1, 2, 4, 8] }: GuideStarPlace): Fields {
  for (const n of positions)
    if (!(Number.isInteger(n) && n >= 1 && n <= 1e6))
      throw new RangeError(`positions must be whole numbers from 1 to 1000000, got ${n}`);
  const fieldMm = guideField(rig, field);
  const arcminPerMm = (180 * 60) / Math.PI / rig.telescope.focalLengthMm;
  return {
    fieldMm,
    fieldArcmin2: fieldMm.widthMm * fieldMm.heightMm * arcminPerMm * arcminPerMm,
    positions,
    inTurn: offAxisMm === undefined ? undefined : positionsInTurn(offAxisMm, fieldMm),
  };
}

function guideField(rig: Rig, lit: GuideStarPlace['field']): Fields['fieldMm'] {
  const { pixelSizeUm, widthPx, heightPx } = rig.guideCamera;
  const sensor = { widthMm: (widthPx * pixelSizeUm) / 1000, heightMm: (heightPx * pixelSizeUm) / 1000 };
  if (lit === undefined) return sensor;
  return {
    widthMm: Math.min(sensor.widthMm, requirePositive('field.widthMm', lit.widthMm)),
    heightMm: Math.min(sensor.heightMm, requirePositive('field.heightMm', lit.heightMm)),
  };
}

/**
 * The ring that the field sweeps in a whole turn, in fields: 2 pi offAxis / width, which need not be a whole
 * number.
 */
function positionsInTurn(offAxisMm: number, { widthMm, heightMm }: GuideStarOdds['fieldMm']): number {
  requirePositive('offAxisMm', offAxisMm);
  if (offAxisMm < heightMm / 2)
    throw new RangeError(`offAxisMm must be at least half the field's height ${heightMm}, got ${offAxisMm}`);
  return Math.max(1, (2 * Math.PI * offAxisMm) / widthMm);
}

function fewestPositions(isEnough: (positions: number) => boolean): number | undefined {
  let high = 1;
  while (!isEnough(high)) {
    high *= 2;
    if (high > 1024) return undefined;
  }
  let low = Math.floor(high / 2);
  while (high - low > 1) {
    const middle = Math.floor((low + high) / 2);
    if (isEnough(middle)) high = middle;
    else low = middle;
  }
  return high <= 1000 ? high : undefined;
}
