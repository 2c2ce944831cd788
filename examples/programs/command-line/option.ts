/**
 * One option of a program: its place in the help, and how its text becomes a value. Every program's options
 * are a table of these.
 */
import { existsSync, statSync } from 'node:fs';
import { dirname } from 'node:path';
import { UnusableInput } from '../../reports/unusable-input.ts';

export interface Option<T> {
  /** What stands for its value in the help, as `N`; absent for a switch. */
  readonly value?: string;
  readonly help: string;
  /** Its value where it is not given, and that value in words for the help. */
  readonly otherwise: () => T;
  readonly otherwiseText?: string;
  /** Whether it may be given several times. */
  readonly isMany?: true;
  /** @throws UnusableInput that names the option, the text got and what is allowed */
  read(texts: readonly string[], name: string): T;
}

// biome-ignore lint/suspicious/noExplicitAny: a table holds options of any value
export type OptionTable = Readonly<Record<string, Option<any>>>;

/**
 * The values of a table of options, by their names in camel case: `focalLength` is given as `--focal-length`.
 */
export type Values<Table extends OptionTable> = {
  readonly [Name in keyof Table]: Table[Name] extends Option<infer T> ? T : never;
};

interface Range {
  readonly low?: number;
  readonly high?: number;
  readonly isWhole?: boolean;
  readonly default?: number;
  /** In place of the default, for the help. */
  readonly otherwise?: string;
}
type WithDefault<Given> = Given & { readonly default: number };

export const flag = (help: string): Option<boolean> => ({ help, otherwise: () => false, read: () => true });

export function number(value: string, help: string, range: WithDefault<Range>): Option<number>;
export function number(value: string, help: string, range?: Range): Option<number | undefined>;
export function number(value: string, help: string, range: Range = {}): Option<number | undefined> {
  return {
    ...described(value, help, range),
    otherwise: () => range.default,
    read: ([text], name) => numberIn(text, name, range),
  };
}

export function text(value: string, help: string, given: { readonly default: string }): Option<string>;
export function text(
  value: string,
  help: string,
  given?: { readonly otherwise?: string; readonly ends?: readonly string[] },
): Option<string | undefined>;
export function text(
  value: string,
  help: string,
  given: { readonly default?: string; readonly otherwise?: string; readonly ends?: readonly string[] } = {},
): Option<string | undefined> {
  return {
    ...described(value, help, given),
    otherwise: () => given.default,
    read: ([word], name) => {
      if (word === '') throw new UnusableInput(`--${name} must not be empty`);
      if (given.ends && !given.ends.some((end) => word.toLowerCase().endsWith(end)))
        throw new UnusableInput(`--${name} must end in ${given.ends.join(' or ')}, got ${word}`);
      return word;
    },
  };
}

/** A file to write. Its folder must be there: this is told before the work, not after it. */
export function outFile(value: string, help: string, given: { readonly default: string }): Option<string>;
export function outFile(
  value: string,
  help: string,
  given?: { readonly otherwise?: string; readonly ends?: readonly string[] },
): Option<string | undefined>;
export function outFile(
  value: string,
  help: string,
  given: { readonly default?: string; readonly otherwise?: string; readonly ends?: readonly string[] } = {},
): Option<string | undefined> {
  const named = text(value, help, given);
  return {
    ...named,
    read: (texts, name) => {
      const file = named.read(texts, name) ?? '';
      const folder = dirname(file);
      if (isFolder(file)) throw new UnusableInput(`cannot write ${file}: it is a folder`);
      if (!isFolder(folder)) throw new UnusableInput(`cannot write ${file}: there is no folder ${folder}`);
      return file;
    },
  };
}

export function word<Word extends string>(
  value: string,
  help: string,
  allowed: readonly Word[],
  given: { readonly default: Word },
): Option<Word>;
export function word<Word extends string>(
  value: string,
  help: string,
  allowed: readonly Word[],
  given?: { readonly otherwise?: string },
): Option<Word | undefined>;
export function word<Word extends string>(
  value: string,
  help: string,
  allowed: readonly Word[],
  given: { readonly default?: Word; readonly otherwise?: string } = {},
): Option<Word | undefined> {
  return {
    ...described(value, help, given),
    otherwise: () => given.default,
    read: ([got], name) => wordIn(got, name, allowed),
  };
}

/** Two sides, as `23.5x15.7`. */
export const sides = (
  value: string,
  help: string,
  { isWhole = false, otherwise }: { readonly isWhole?: boolean; readonly otherwise?: string } = {},
): Option<readonly [number, number] | undefined> => ({
  ...described(value, help, { ...(otherwise === undefined ? {} : { otherwise }) }),
  otherwise: () => undefined,
  read: ([got], name) => {
    const found = got.split('x').map(toNumber);
    if (found.length !== 2 || !found.every(isWhole ? Number.isInteger : Number.isFinite))
      throw new UnusableInput(
        `--${name} must be two ${isWhole ? 'whole ' : ''}numbers with an x between, as ${isWhole ? '640x480' : '10x8'}, got ${got}`,
      );
    return [found[0], found[1]];
  },
});

/** Numbers with commas between. */
export function numbers(value: string, help: string, fallback: readonly number[]): Option<readonly number[]>;
export function numbers(value: string, help: string): Option<readonly number[] | undefined>;
export function numbers(
  value: string,
  help: string,
  fallback?: readonly number[],
): Option<readonly number[] | undefined> {
  return {
    ...described(value, help, fallback ? { otherwise: fallback.join(',') } : {}),
    otherwise: () => fallback,
    read: ([got], name) => {
      const list = got.split(',').map(toNumber);
      if (!list.every(Number.isFinite))
        throw new UnusableInput(`--${name} must be numbers with commas between, got ${got}`);
      return list;
    },
  };
}

/**
 * An option whose text is made into its value by a function of the program's own; it may be given several
 * times.
 */
export const many = <T>(
  value: string,
  help: string,
  read: (texts: readonly string[], name: string) => T,
  otherwise: T,
  otherwiseText?: string,
): Option<T> => ({
  value,
  help,
  isMany: true,
  otherwise: () => otherwise,
  ...(otherwiseText === undefined ? {} : { otherwiseText }),
  read,
});

const isFolder = (path: string): boolean => existsSync(path) && statSync(path).isDirectory();

/** One of some words. @throws UnusableInput that names the option, the word got and the words allowed */
export function wordIn<Word extends string>(got: string, name: string, allowed: readonly Word[]): Word {
  const found = allowed.find((each) => each === got);
  if (found === undefined)
    throw new UnusableInput(
      `--${name} must be one of ${allowed.join(', ')}, got ${got === '' ? 'nothing' : got}`,
    );
  return found;
}

function numberIn(got: string, name: string, { low, high, isWhole }: Range): number {
  const value = toNumber(got);
  const isInside =
    value >= (low ?? -Infinity) &&
    value <= (high ?? Infinity) &&
    Number.isFinite(value) &&
    (!isWhole || Number.isInteger(value));
  if (isInside) return value;
  const range =
    low !== undefined && high !== undefined
      ? ` from ${low} to ${high}`
      : low !== undefined
        ? ` of at least ${low}`
        : '';
  throw new UnusableInput(
    `--${name} must be a ${isWhole ? 'whole ' : ''}number${range}, got ${got === '' ? 'nothing' : got}`,
  );
}

/** NaN for what is no number. */
export const toNumber = (got: string): number => (got.trim() === '' ? Number.NaN : Number(got));

function described(
  value: string,
  help: string,
  { default: fallback, otherwise }: { readonly default?: number | string; readonly otherwise?: string },
) {
  const words = otherwise ?? (fallback === undefined ? undefined : String(fallback));
  return { value, help, ...(words === undefined ? {} : { otherwiseText: words }) };
}
