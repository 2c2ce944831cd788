/** The committed table of checksums, and the rigs that its results are for. */
import { readdirSync, readFileSync, writeFileSync } from 'node:fs';

const file = new URL('checksums.json', import.meta.url);
const rigsFolder = new URL('../../examples/rigs/', import.meta.url);

/** Tells by its name whether a result is asked for. */
export type Wanted = (name: string) => boolean;

/** The table, or the part of it that is asked for. */
export const committed = (wanted: Wanted = () => true): Record<string, string> =>
  Object.fromEntries(
    Object.entries<string>(JSON.parse(readFileSync(file, 'utf8'))).filter(([name]) => wanted(name)),
  );

export const writeTable = (table: Readonly<Record<string, string>>): void =>
  writeFileSync(file, `${JSON.stringify(table, undefined, 2)}\n`);

/** Text of each example rig, by file name. */
export const rigTexts = (): Record<string, string> =>
  Object.fromEntries(
    readdirSync(rigsFolder)
      .filter((name) => name.endsWith('.json'))
      .map((name) => [name, readFileSync(new URL(name, rigsFolder), 'utf8')]),
  );

/** A line for each result that differs, or that only one of the two tables has. */
export const differences = (
  table: Readonly<Record<string, string>>,
  found: Readonly<Record<string, string>>,
): string[] =>
  [...new Set([...Object.keys(table), ...Object.keys(found)])]
    .filter((name) => table[name] !== found[name])
    .map((name) => `${name}: table ${table[name] ?? 'none'}, now ${found[name] ?? 'none'}`);
