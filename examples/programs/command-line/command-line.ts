/** The command line of the main job: options, help, and how it ends. */
import { parseArgs } from 'node:util';

export const help = `How far out of focus can a guide star go, and still hold?

  npm start -- [options]            must the guide camera be refocused, filter by filter?

  --rig FILE      rig to advise on (JSON; see packages/sim/rig.schema.json).
                  Default: examples/rigs/fast-reflector.json
  --frame FILE    measure the brightest star of a frame (FITS, PNG, TIFF) taken with this rig, and advise on it
  --page FILE     where to write the page with the figures. Default: holdfast.html
  --no-page       write no page
  --json          print the whole result as JSON instead of text
  --trials N      simulated frames for each number, 64 to 1000000. Default 1024
  --seed WORD     seed of the random numbers: the same seed gives the same result. Default 1
  --help          this text

Ends with 0 when it has answered, 2 when the rig, the frame or an option is not usable (nothing is written then),
1 when something else failed.`;

export interface CommandLine {
  readonly rig: string | undefined;
  readonly frame: string | undefined;
  readonly page: string | undefined;
  readonly json: boolean;
  readonly trials: number;
  readonly seed: string;
  readonly help: boolean;
}

/** Something that the user gave and that cannot be used: ends the program with status 2. */
export class UnusableInput extends Error {}

/** @throws UnusableInput that names the option, the value got and what is allowed */
export function readCommandLine(args: readonly string[]): CommandLine {
  const values = parse(args);
  const trials = Number(values.trials);
  if (!Number.isInteger(trials) || trials < 64 || trials > 1_000_000)
    throw new UnusableInput(`--trials must be a whole number from 64 to 1000000, got ${values.trials}`);
  for (const name of ['rig', 'frame', 'page', 'seed'] as const)
    if (values[name] === '') throw new UnusableInput(`--${name} must not be empty`);
  return {
    rig: values.rig,
    frame: values.frame,
    page: values['no-page'] ? undefined : values.page,
    json: values.json,
    trials,
    seed: values.seed,
    help: values.help,
  };
}

function parse(args: readonly string[]) {
  try {
    return parseArgs({
      args: [...args],
      allowPositionals: false,
      options: {
        rig: { type: 'string' },
        frame: { type: 'string' },
        page: { type: 'string', default: 'holdfast.html' },
        'no-page': { type: 'boolean', default: false },
        json: { type: 'boolean', default: false },
        trials: { type: 'string', default: '1024' },
        seed: { type: 'string', default: '1' },
        help: { type: 'boolean', default: false },
      },
    }).values;
  } catch (error) {
    throw new UnusableInput(`${(error as Error).message}\nTry --help.`);
  }
}
