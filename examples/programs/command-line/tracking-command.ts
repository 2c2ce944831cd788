/** The command line of the tracking program: options and their meaning. */
import { parseArgs } from 'node:util';
import { type EstimatorName, estimatorNames } from '@holdfast/sim';
import { UnusableInput } from './command-line.ts';
import { numberOption } from './number-options.ts';

const eventKinds = ['focus-run', 'filter-change', 'no-star', 'none'] as const;
const measurements = ['frames', 'gaussian'] as const;

export const trackingHelp = `What does guiding do through a focus run, a filter change or a lost star?

  node examples/dist/programs/tracking.js [options]        times in s, angles in arcsec, focus shifts in um at the guide sensor

Simulates the loop with the event several times over, once holding (no corrections meanwhile) and going back to the old
set point, once holding and staying where the star is found, once carrying on; and without the event beside them.

  --rig FILE           rig to start from. Default: examples/rigs/fast-reflector.json
  --event KIND         ${eventKinds.join(', ')}. Default: focus-run
  --at S               when it starts. Default: 180
  --span UM            focus run: largest shift to either side. Default: a ring four times as wide as the seeing
  --positions N        focus run: positions, 2 to 99. Default: 9
  --seconds S          focus run: at each position; filter-change, no-star: how long there is no star. Default: 8
  --filter NAME        filter-change: the filter that it changes to, by its name in the rig. Default: the rig's second
  --duration S         how long to look. Default: 600
  --exposure S         exposures of the main camera. Default: 120
  --pause              no exposure of the main camera during the event
  --runs N             runs with air, wind and noise of their own, 2 to 10000. Default: 8
  --gain G             proportional gain. Default: the rig's
  --integral I         integral gain. Default: 0
  --dead-zone ARCSEC   offsets that are left alone. Default: 0
  --delay S            from the end of a guide frame to its correction. Default: 0.5
  --estimator NAME     ${estimatorNames.join(', ')}. Default: the rig's
  --clip C             a straight edge cuts the star's beam at so many radii of the aperture from its centre, as a
                       pick-off may: the star walks with its focus then. Default: what the rig says
  --measurement HOW    frames (each guide frame drawn and measured) or gaussian (errors of the known size). Default: frames
  --seed WORD          seed of the random numbers: the same seed gives the same result. Default: 1
  --figure FILE.svg    draw the first run with each way of guiding
  --json               print everything as JSON instead of text, the first run in time with it
  --help               this text

Ends with 0 when it has answered, 2 when the rig, an option or the figure's file is not usable, 1 when something else
failed.`;

export interface TrackingCommand {
  readonly rig: string | undefined;
  readonly event: (typeof eventKinds)[number];
  readonly atS: number;
  readonly spanUm: number | undefined;
  readonly positions: number;
  readonly secondsS: number;
  readonly filter: string | undefined;
  readonly durationS: number;
  readonly exposureS: number;
  readonly pause: boolean;
  readonly runs: number;
  readonly gain: number | undefined;
  readonly integral: number;
  readonly deadZoneArcsec: number;
  readonly delayS: number;
  readonly estimator: EstimatorName | undefined;
  readonly clipDistance: number | undefined;
  readonly measurement: (typeof measurements)[number];
  readonly seed: string;
  readonly figure: string | undefined;
  readonly json: boolean;
  readonly help: boolean;
}

/** @throws UnusableInput that names the option, the value got and what is allowed */
export function readTrackingCommand(args: readonly string[]): TrackingCommand {
  const values = parse(args);
  const maybe = (name: string, text: string | undefined) =>
    text === undefined ? undefined : numberOption(name, text);
  return {
    rig: values.rig,
    event: oneOf('event', values.event, eventKinds),
    atS: numberOption('at', values.at),
    spanUm: maybe('span', values.span),
    positions: wholeNumber('positions', values.positions, 2, 99),
    secondsS: numberOption('seconds', values.seconds),
    filter: values.filter,
    durationS: numberOption('duration', values.duration),
    exposureS: numberOption('exposure', values.exposure),
    pause: values.pause,
    runs: wholeNumber('runs', values.runs, 2, 10_000),
    gain: maybe('gain', values.gain),
    integral: numberOption('integral', values.integral),
    deadZoneArcsec: numberOption('dead-zone', values['dead-zone']),
    delayS: numberOption('delay', values.delay),
    estimator:
      values.estimator === undefined ? undefined : oneOf('estimator', values.estimator, estimatorNames),
    clipDistance: maybe('clip', values.clip),
    measurement: oneOf('measurement', values.measurement, measurements),
    seed: values.seed,
    figure: values.figure,
    json: values.json,
    help: values.help,
  };
}

function parse(args: readonly string[]) {
  const text = { type: 'string' } as const;
  const given = (value: string) => ({ type: 'string', default: value }) as const;
  const flag = { type: 'boolean', default: false } as const;
  try {
    return parseArgs({
      args: [...args],
      allowPositionals: false,
      options: {
        rig: text,
        event: given('focus-run'),
        at: given('180'),
        span: text,
        positions: given('9'),
        seconds: given('8'),
        filter: text,
        duration: given('600'),
        exposure: given('120'),
        pause: flag,
        runs: given('8'),
        gain: text,
        integral: given('0'),
        'dead-zone': given('0'),
        delay: given('0.5'),
        estimator: text,
        clip: text,
        measurement: given('frames'),
        seed: given('1'),
        figure: text,
        json: flag,
        help: flag,
      },
    }).values;
  } catch (error) {
    throw new UnusableInput(`${(error as Error).message}\nTry --help.`);
  }
}

function oneOf<T extends string>(name: string, text: string, allowed: readonly T[]): T {
  const found = allowed.find((word) => word === text);
  if (found === undefined)
    throw new UnusableInput(`--${name} must be one of ${allowed.join(', ')}, got ${JSON.stringify(text)}`);
  return found;
}

function wholeNumber(name: string, text: string, low: number, high: number): number {
  const value = numberOption(name, text);
  if (!Number.isInteger(value) || value < low || value > high)
    throw new UnusableInput(`--${name} must be a whole number from ${low} to ${high}, got ${text}`);
  return value;
}
