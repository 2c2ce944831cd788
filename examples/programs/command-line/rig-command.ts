/** The command line that all programs about one rig share, and what each has of its own. */
import { parseArgs } from 'node:util';
import { UnusableInput } from './command-line.ts';

export interface RigCommand<Own extends string, Switch extends string> {
  readonly rig: string | undefined;
  readonly seed: string;
  readonly trials: number;
  readonly json: boolean;
  readonly help: boolean;
  /** Options of the program's own that take a value. */
  readonly own: Readonly<Partial<Record<Own, string>>>;
  /** Its own options that take none. */
  readonly on: Readonly<Record<Switch, boolean>>;
}

/** Lines of the help for the shared options. */
export const rigHelpLines = `  --rig FILE       rig to advise on (JSON; see packages/sim/rig.schema.json).
                   Default: examples/rigs/fast-reflector.json
  --trials N       simulated frames for each number, 64 to 1000000. Default 1024
  --seed WORD      seed of the random numbers: the same seed gives the same result. Default 1
  --json           print everything as JSON instead of text
  --help           this text`;

/** @throws UnusableInput that names the option, the value got and what is allowed */
export function readRigCommand<Own extends string = never, Switch extends string = never>(
  args: readonly string[],
  own: readonly Own[] = [],
  switches: readonly Switch[] = [],
): RigCommand<Own, Switch> {
  const values = parse(args, own, switches);
  const text = (name: string) => values[name] as string | undefined;
  for (const name of ['rig', 'seed', ...own])
    if (text(name) === '') throw new UnusableInput(`--${name} must not be empty`);
  const trials = Number(text('trials'));
  if (!Number.isInteger(trials) || trials < 64 || trials > 1_000_000)
    throw new UnusableInput(`--trials must be a whole number from 64 to 1000000, got ${text('trials')}`);
  const given = own.flatMap((name) => {
    const value = text(name);
    return value === undefined ? [] : [[name, value]];
  });
  return {
    rig: text('rig'),
    seed: text('seed') ?? '1',
    trials,
    json: values['json'] === true,
    help: values['help'] === true,
    own: Object.fromEntries(given) as Partial<Record<Own, string>>,
    on: Object.fromEntries(switches.map((name) => [name, values[name] === true])) as Record<Switch, boolean>,
  };
}

function parse(
  args: readonly string[],
  own: readonly string[],
  switches: readonly string[],
): Readonly<Record<string, unknown>> {
  const text = { type: 'string' } as const;
  const flag = { type: 'boolean', default: false } as const;
  try {
    return parseArgs({
      args: [...args],
      allowPositionals: false,
      options: {
        rig: text,
        trials: { type: 'string', default: '1024' },
        seed: { type: 'string', default: '1' },
        json: flag,
        help: flag,
        ...Object.fromEntries(own.map((name) => [name, text])),
        ...Object.fromEntries(switches.map((name) => [name, flag])),
      },
    }).values;
  } catch (error) {
    throw new UnusableInput(`${(error as Error).message}\nTry --help.`);
  }
}

/** One of some words. @throws UnusableInput that names the option, the word got and the words allowed */
export function wordOption<Word extends string>(name: string, word: string, allowed: readonly Word[]): Word {
  const found = allowed.find((each) => each === word);
  if (found === undefined)
    throw new UnusableInput(`--${name} must be one of ${allowed.join(', ')}, got ${word}`);
  return found;
}
