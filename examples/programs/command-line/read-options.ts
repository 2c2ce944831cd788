/** From the words of a command line to the values of a table of options. */
import { parseArgs } from 'node:util';
import { UnusableInput } from '../../reports/unusable-input.ts';
import type { Command } from './command.ts';
import type { Option, OptionTable, Values } from './option.ts';

export interface Given<Table extends OptionTable> {
  /** Read when they are asked for: help needs no rig. */
  values(): Values<Table>;
  readonly files: readonly string[];
  readonly json: boolean;
  readonly help: boolean;
}

/** `focalLength` is given as `--focal-length`. */
export const optionName = (name: string): string =>
  name.replace(/[A-Z]/g, (letter) => `-${letter.toLowerCase()}`);

/** @throws UnusableInput that names an option that is not known, or lacks its value */
export function readOptions<Table extends OptionTable>(
  { options, files }: Command<Table>,
  args: readonly string[],
): Given<Table> {
  const table = Object.entries<Option<unknown>>(options);
  const taking = new Set(table.flatMap(([name, { value }]) => (value ? [`--${optionName(name)}`] : [])));
  const { values, positionals } = parse({
    args: withSigns(args, taking),
    allowPositionals: files !== undefined,
    options: {
      json: { type: 'boolean' },
      help: { type: 'boolean' },
      ...Object.fromEntries(
        table.map(([name, { value }]) => [
          optionName(name),
          value ? { type: 'string', multiple: true } : { type: 'boolean' },
        ]),
      ),
    },
  });
  return {
    values: () =>
      Object.fromEntries(
        table.map(([name, option]) => [name, readValue(option, optionName(name), values[optionName(name)])]),
      ) as Values<Table>,
    files: positionals,
    json: values['json'] === true,
    help: values['help'] === true,
  };
}

function readValue<T>(option: Option<T>, name: string, given: unknown): T {
  if (given === undefined) return option.otherwise();
  const texts = Array.isArray(given) ? given : [];
  if (texts.length > 1 && !option.isMany)
    throw new UnusableInput(`--${name} must be given once, got ${texts.join(' and ')}`);
  return option.read(texts, name);
}

/** `--shift -250` as `--shift=-250`: the value of an option may be below 0. */
function withSigns(args: readonly string[], taking: ReadonlySet<string>): string[] {
  const joined: string[] = [];
  for (const word of args) {
    const last = joined.length - 1;
    if (/^-[\d.]/.test(word) && taking.has(joined[last])) joined[last] = `${joined[last]}=${word}`;
    else joined.push(word);
  }
  return joined;
}

function parse(config: Parameters<typeof parseArgs>[0]): {
  readonly values: Readonly<Record<string, unknown>>;
  readonly positionals: readonly string[];
} {
  try {
    return parseArgs(config);
  } catch (error) {
    throw new UnusableInput(`${(error as Error).message}\nTry --help.`);
  }
}
