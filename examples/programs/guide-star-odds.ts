/** Is there a guide star? The faintest one that will do, and the odds of one in the guide field. */
import { readFileSync } from 'node:fs';
import {
  type FaintestStar,
  type GuideStarLimit,
  type GuideStarOdds,
  guideStarLimit,
  type Interval,
  type ListedStar,
  type Rig,
  readStarList,
  starsInField,
} from '@holdfast/sim';
import { estimatorLabels, guideStarOddsOf, percent, significant } from '@holdfast/sim/internal';
import { textTable } from '../reports/text-table.ts';
import { UnusableInput, withUserNumbers } from '../reports/unusable-input.ts';
import { command } from './command-line/command.ts';
import type { Values } from './command-line/option.ts';
import { number, numbers, sides, text } from './command-line/option.ts';
import { rig, seed } from './command-line/shared-options.ts';

const options = {
  rig,
  latitude: number('DEG', 'galactic latitude of the picture', {
    otherwise: "a table of 0 to 90, with the rig's own",
  }),
  longitude: number('DEG', 'galactic longitude', { otherwise: "the rig's, else 90" }),
  focusShift: number('UM', 'defocus of the guide camera', { otherwise: "the rig's guideFocusShiftUm" }),
  field: sides(
    'WxH',
    'part of the guide sensor that gets light from the pick-off, mm: across and along the direction to the axis',
    { otherwise: 'the whole sensor' },
  ),
  kept: number('PCT', "how much of the star's light remains after losses that the rig does not describe", {
    otherwise: '100',
  }),
  offAxis: number(
    'MM',
    'distance of the guide field from the axis: adds the odds for a full turn of the pick-off around the axis',
  ),
  positions: numbers(
    'N,N',
    'how many guide fields you can choose from, by turning the pick-off or moving the picture',
    [1, 2, 4, 8],
  ),
  snr: number('N', "least SNR of the star's image", { otherwise: '10' }),
  trials: number('N', 'simulated frames per magnitude that is tried', { otherwise: '512' }),
  seed,
  stars: text(
    'FILE.csv',
    'stars of your own (columns ra, dec in degrees, mag) instead of average counts; needs --ra, --dec and --off-axis',
  ),
  ra: number('DEG', 'right ascension of the target, for --stars'),
  dec: number('DEG', 'declination of the target, for --stars'),
};

export const guideStarOdds = command({
  name: 'guide-star-odds',
  question: 'Is there a guide star? The faintest one that will do, and the odds of one in the guide field.',
  options,
  async run(asked) {
    const { rig } = asked;
    const { limit, odds, turns } = withUserNumbers(() => answer(asked));
    return { data: { rig: rig.name, limit, odds, turns }, text: () => textOf(rig, limit, odds, turns) };
  },
});

/** Usable stars of the user's list at one turn of the pick-off. */
interface Turn {
  readonly positionAngleDeg: number;
  readonly stars: readonly ListedStar[];
}

type OddsAt = GuideStarOdds & { readonly galacticLatitudeDeg: number };

/** What is given, under the library's names; what is not is left out. */
const given = <Name extends string>(values: Readonly<Record<Name, number | undefined>>) =>
  Object.fromEntries(Object.entries(values).filter(([, value]) => value !== undefined)) as Partial<
    Record<Name, number>
  >;

function answer(asked: Values<typeof options>) {
  const { rig, seed, field, kept, positions } = asked;
  const stars = starsOf(asked);
  const list = stars === undefined ? undefined : readStarList(stars.csv);
  if (list?.ok === false) throw new UnusableInput(`the star list, line ${list.line}: ${list.reason}`);
  const limit = guideStarLimit(rig, {
    ...given({
      focusShiftUm: asked.focusShift,
      leastSnr: asked.snr,
      keptFraction: kept === undefined ? undefined : kept / 100,
      trials: asked.trials,
    }),
    seed,
  });
  const place = {
    ...given({ galacticLongitudeDeg: asked.longitude ?? rig.galacticLongitudeDeg, offAxisMm: asked.offAxis }),
    ...(field === undefined ? {} : { field: { widthMm: field[0], heightMm: field[1] } }),
    positions,
  };
  const own = rig.galacticLatitudeDeg ?? 0;
  const table = [...new Set([0, 10, 20, 30, 60, 90, own])].sort((a, b) => a - b);
  const odds = (asked.latitude === undefined ? table : [asked.latitude]).map(
    (galacticLatitudeDeg): OddsAt => ({
      galacticLatitudeDeg,
      ...guideStarOddsOf(rig, limit, { ...place, galacticLatitudeDeg }),
    }),
  );
  const { usable } = limit;
  if (stars === undefined || list === undefined || usable === undefined)
    return { limit, odds, turns: undefined };
  const { widthMm, heightMm } = odds[0].fieldMm;
  const degPerMm = 180 / Math.PI / rig.telescope.focalLengthMm;
  const turns = Array.from({ length: 36 }, (_, i): Turn => {
    const positionAngleDeg = 10 * i;
    const found = starsInField(list.stars, {
      raDeg: stars.raDeg,
      decDeg: stars.decDeg,
      offAxisDeg: stars.offAxisMm * degPerMm,
      positionAngleDeg,
      radialDeg: heightMm * degPerMm,
      acrossDeg: widthMm * degPerMm,
      faintestMagnitude: usable.magnitude,
    });
    return { positionAngleDeg, stars: found };
  });
  return { limit, odds, turns };
}

function starsOf({ stars, ra, dec, offAxis }: Values<typeof options>) {
  if (stars === undefined) return undefined;
  if (ra === undefined || dec === undefined || offAxis === undefined)
    throw new UnusableInput('--stars needs --ra, --dec and --off-axis');
  try {
    return { csv: readFileSync(stars, 'utf8'), raDeg: ra, decDeg: dec, offAxisMm: offAxis };
  } catch (error) {
    throw new UnusableInput(`cannot read the star list: ${(error as Error).message}`);
  }
}

function textOf(
  rig: Rig,
  limit: GuideStarLimit,
  odds: readonly OddsAt[],
  turns: readonly Turn[] | undefined,
): string[] {
  const { widthMm, heightMm } = odds[0].fieldMm;
  const { usable, measured, detected, leastError } = limit;
  const magnitude = (star: FaintestStar | undefined): string =>
    star ? `V ${star.magnitude.toFixed(1)}` : 'none';
  return [
    `${rig.name}: guide field ${significant(widthMm, 3)} x ${significant(heightMm, 3)} mm, ` +
      `${significant(odds[0].fieldArcmin2, 3)} square arcmin, ${limit.focusShiftUm} µm out of focus, ` +
      `frames of ${rig.guideCamera.exposureS} s`,
    `Faintest guide star: ${magnitude(usable)}${usable ? ` (SNR ${significant(usable.snr, 2)})` : ''}.`,
    `  Detected at an SNR of ${significant(detected.snr, 2)}: ${magnitude(detected)}, by formula.`,
    `  Measured within the budget by ${estimatorLabels[limit.estimator]}: ${magnitude(measured)}, by simulation of ` +
      `${limit.trials} frames per magnitude, good to 0.1 mag.`,
    `  With the least possible error: ${magnitude(leastError)}, by formula.`,
    '',
    ...oddsTable(odds),
    '',
    ...[
      ...new Set(
        odds.map(
          ({ count }) => `Counts: ${count.note}; known to a factor ${count.uncertaintyFactor} (1 sigma).`,
        ),
      ),
    ],
    'Brackets are the 95 % intervals of that uncertainty. The counts assume randomly placed stars; clusters and dark clouds are not in the counts.',
    ...(turns === undefined ? [] : ['', ...turnTable(turns)]),
  ];
}

function oddsTable(odds: readonly OddsAt[]): string[] {
  const { chances, wholeTurn } = odds[0];
  const interval = ({ value, low, high }: Interval, text: (value: number) => string): string =>
    `${text(value)} [${text(low)}, ${text(high)}]`;
  const stars = (value: number): string => significant(value, 2);
  return textTable([
    [
      'latitude',
      'brighter stars',
      'stars in the field',
      ...chances.map(({ positions }) => `one in ${positions}`),
      'three in 1',
      ...(wholeTurn ? ['one in a turn'] : []),
      'fields for 95 %',
    ],
    ['degrees', 'per sq. degree', '', ...chances.map(() => '%'), '%', ...(wholeTurn ? ['%'] : []), ''],
    ...odds.map(({ galacticLatitudeDeg, count, ...at }) => [
      String(galacticLatitudeDeg),
      significant(count.perDeg2, 3),
      interval(at.chances[0].expectedStars, stars),
      ...at.chances.map(({ atLeastOne }) => interval(atLeastOne, percentNumber)),
      interval(at.chances[0].atLeastThree, percentNumber),
      ...(at.wholeTurn ? [interval(at.wholeTurn.atLeastOne, percentNumber)] : []),
      at.positionsFor95 === undefined ? 'none' : String(at.positionsFor95),
    ]),
  ]);
}

function percentNumber(share: number): string {
  return percent(share).replace(' %', '');
}

function turnTable(turns: readonly Turn[]): string[] {
  const seen = turns.filter(({ stars }) => stars.length > 0);
  if (seen.length === 0) return ['No usable star of the list lies in the guide field at any turn.'];
  return [
    `Usable stars of the list, at ${seen.length} of ${turns.length} turns of the pick-off:`,
    ...textTable([
      ['position angle', 'stars', 'brightest'],
      ['degrees', '', 'mag'],
      ...seen.map(({ positionAngleDeg, stars }) => [
        String(positionAngleDeg),
        String(stars.length),
        stars[0].magnitude.toFixed(2),
      ]),
    ]),
  ];
}
