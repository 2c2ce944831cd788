/** Is there a guide star? The faintest one that will do, and the odds of one in the guide field. */

import type { Interval } from '@holdfast/sim';
import {
  type FaintestStar,
  type GuideStarLimit,
  type GuideStarOdds,
  guideStarLimit,
  type ListedStar,
  type Rig,
  readStarList,
  starsInField,
} from '@holdfast/sim';
import { estimatorLabels, guideStarOddsOf, percent, significant } from '@holdfast/sim/internal';
import { textTable } from '../reports/text-table.ts';
import { UnusableInput } from './command-line/command-line.ts';
import { type OddsCommand, oddsHelp, readOddsCommand } from './command-line/guide-star-odds-command.ts';
import { withUserNumbers } from './command-line/number-options.ts';
import { readRig } from './command-line/read-rig.ts';
import { runProgram } from './command-line/run-program.ts';

runProgram(async (args) => {
  const command = readOddsCommand(args);
  if (command.help) {
    console.log(oddsHelp);
    return;
  }
  const rig = readRig(command.rig);
  const { limit, odds, turns } = withUserNumbers(() => answer(rig, command));
  if (command.json) console.log(JSON.stringify({ rig: rig.name, limit, odds, turns }, undefined, 2));
  else console.log(textOf(rig, limit, odds, turns).join('\n'));
});

/** Usable stars of the user's list at one turn of the pick-off. */
interface Turn {
  readonly positionAngleDeg: number;
  readonly stars: readonly ListedStar[];
}

type OddsAt = GuideStarOdds & { readonly galacticLatitudeDeg: number };

function answer(rig: Rig, command: OddsCommand) {
  const { place, stars } = command;
  const list = stars === undefined ? undefined : readStarList(stars.csv);
  if (list?.ok === false) throw new UnusableInput(`the star list, line ${list.line}: ${list.reason}`);
  const limit = guideStarLimit(rig, command.limit);
  const odds = command.latitudesDeg.map(
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
      `${significant(odds[0].fieldArcmin2, 3)} square arcmin, ${limit.focusShiftUm} um out of focus, ` +
      `frames of ${rig.guideCamera.exposureS} s`,
    `Faintest guide star: ${magnitude(usable)}${usable ? ` (SNR ${significant(usable.snr, 2)})` : ''}.`,
    `  Detected at an SNR of ${significant(detected.snr, 2)}: ${magnitude(detected)}, by formula.`,
    `  Measured within the budget by ${estimatorLabels[limit.estimator]}: ${magnitude(measured)}, by simulation of ` +
      `${limit.trials} frames a magnitude, good to 0.1 mag.`,
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
    'Brackets hold 95 % of that uncertainty. Stars stand at random; clusters and dark clouds are not in the counts.',
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
