/** The command line of the guide-star program: options and their meaning. */
import { readFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import type { GuideStarLimitOptions, GuideStarPlace } from '@holdfast/sim';
import { UnusableInput } from './command-line.ts';
import { numberOption, sidesOption } from './number-options.ts';

export const oddsHelp = `Is there a guide star? The faintest one that will do, and the odds of one in the guide field.

  node examples/dist/programs/guide-star-odds.js [options]

  --rig FILE         rig to start from. Default: examples/rigs/fast-reflector.json
  --latitude DEG     galactic latitude of the picture (one below 0 as --latitude=-20). Default: a table of 0 to 90
  --longitude DEG    galactic longitude. Default: 90
  --focus-shift UM   how far the guide camera is out of focus. Default: the rig's guideFocusShiftUm
  --field WxH        part of the guide sensor that the pick-off lights, mm, across and along the direction to the axis.
                     Default: the whole sensor
  --kept PCT         share of a star's light that the pick-off lets pass, beyond what the rig says. Default: 100
  --off-axis MM      distance of the guide field from the axis: gives the odds of a whole turn about it
  --positions N,N    numbers of fields to choose from, by turning or stepping. Default: 1,2,4,8
  --snr N            least SNR of the star's image. Default: 10
  --trials N         simulated frames at each magnitude that is tried. Default: 512
  --seed WORD        seed of the random numbers. Default: 1
  --stars FILE.csv   stars of your own (columns ra, dec in degrees, mag) instead of average counts: with
  --ra DEG --dec DEG --off-axis MM    the target, and the usable stars at each turn of the pick-off
  --json             print everything as JSON instead of text
  --help             this text

Ends with 0 when it has answered, 2 when the rig or an option is not usable, 1 when something else failed.`;

export interface OddsCommand {
  readonly rig: string | undefined;
  readonly limit: GuideStarLimitOptions;
  readonly latitudesDeg: readonly number[];
  readonly place: Omit<GuideStarPlace, 'galacticLatitudeDeg'>;
  /** Text of the star list and the target. */
  readonly stars:
    | { readonly csv: string; readonly raDeg: number; readonly decDeg: number; readonly offAxisMm: number }
    | undefined;
  readonly json: boolean;
  readonly help: boolean;
}

/** @throws UnusableInput that names the option, the value got and what is allowed */
export function readOddsCommand(args: readonly string[]): OddsCommand {
  const values = parse(args);
  const optional = <Name extends string>(name: Name, option: keyof typeof values & string, factor = 1) =>
    (values[option] === undefined
      ? {}
      : { [name]: factor * numberOption(option, values[option] as string) }) as Partial<Record<Name, number>>;
  const [widthMm, heightMm] = values.field === undefined ? [] : sidesOption('field', values.field);
  return {
    rig: values.rig,
    limit: {
      ...optional('focusShiftUm', 'focus-shift'),
      ...optional('leastSnr', 'snr'),
      ...optional('keptFraction', 'kept', 0.01),
      ...optional('trials', 'trials'),
      seed: values.seed,
    },
    latitudesDeg:
      values.latitude === undefined ? [0, 10, 20, 30, 60, 90] : [numberOption('latitude', values.latitude)],
    place: {
      ...optional('galacticLongitudeDeg', 'longitude'),
      ...optional('offAxisMm', 'off-axis'),
      ...(widthMm === undefined || heightMm === undefined ? {} : { field: { widthMm, heightMm } }),
      positions: values.positions.split(',').map((text) => numberOption('positions', text)),
    },
    stars: values.stars === undefined ? undefined : starsOf(values.stars, values),
    json: values.json,
    help: values.help,
  };
}

function starsOf(
  file: string,
  values: {
    readonly ra?: string | undefined;
    readonly dec?: string | undefined;
    readonly 'off-axis'?: string | undefined;
  },
): OddsCommand['stars'] {
  const { ra, dec, 'off-axis': offAxis } = values;
  if (ra === undefined || dec === undefined || offAxis === undefined)
    throw new UnusableInput('--stars needs --ra, --dec and --off-axis');
  let csv: string;
  try {
    csv = readFileSync(file, 'utf8');
  } catch (error) {
    throw new UnusableInput(`cannot read the star list: ${(error as Error).message}`);
  }
  return {
    csv,
    raDeg: numberOption('ra', ra),
    decDeg: numberOption('dec', dec),
    offAxisMm: numberOption('off-axis', offAxis),
  };
}

function parse(args: readonly string[]) {
  const text = { type: 'string' } as const;
  try {
    return parseArgs({
      args: [...args],
      allowPositionals: false,
      options: {
        rig: text,
        latitude: text,
        longitude: text,
        'focus-shift': text,
        field: text,
        kept: text,
        'off-axis': text,
        positions: { type: 'string', default: '1,2,4,8' },
        snr: text,
        trials: text,
        seed: { type: 'string', default: '1' },
        stars: text,
        ra: text,
        dec: text,
        json: { type: 'boolean', default: false },
        help: { type: 'boolean', default: false },
      },
    }).values;
  } catch (error) {
    throw new UnusableInput(`${(error as Error).message}\nTry --help.`);
  }
}
