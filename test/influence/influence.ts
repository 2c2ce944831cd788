/**
 * Which answers change with each entry of the rig file, against a committed table: an entry that a program
 * ignores needs a reason. `npm run influence` compares all of it, `npm run influence -- WORD` the entries
 * whose path contains the word, `--missing` those that the table lacks; `--write` renews the table.
 */
import { createHash } from 'node:crypto';
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import type { Command } from '../../examples/dist/programs/command-line/command.js';
import { readOptions } from '../../examples/dist/programs/command-line/read-options.js';
import { commands } from '../../examples/dist/programs/commands.js';
import { isBelow, reasonFor, reasons } from './reasons.ts';
import { type ChangedEntry, changedEntries, rigs } from './rigs.ts';

/**
 * Options that make each program quick; the answer need not be precise, only to follow the rig. `FRAME` is a
 * frame of the plain rig.
 */
const settings: Readonly<Record<string, readonly string[]>> = {
  refocus: ['--trials', '64', '--no-page'],
  frames: ['--trials', '64', 'FRAME'],
  'advice-page': ['--trials', '64', '--runs', '2', '--out', 'page.html'],
  filters: ['--trials', '64'],
  'best-guide-focus': ['--trials', '64'],
  pickoff: [],
  'guide-star-odds': ['--trials', '64'],
  tracking: ['--runs', '2', '--measurement', 'gaussian', '--at', '20', '--duration', '240'],
  sweep: ['--trials', '64', '--axis', 'focusShiftUm=100', '--workers', '1'],
  'simulate-frame': ['--size', '96x96', '--out', 'frame.fits'],
};

/** The programs whose answer changes, by entry, and the rig that the entry was changed in. */
export type Influence = Readonly<
  Record<string, { readonly rig: string; readonly changes: readonly string[] }>
>;

export const tablePath = fileURLToPath(new URL('influence.json', import.meta.url));
export const committed = (): Influence => JSON.parse(readFileSync(tablePath, 'utf8'));

/** Programs that read a rig, in the order of the list of commands. */
export const programs = commands.map(({ name }) => name).filter((name) => settings[name]);

/** Measures entries one after the other; what the unchanged rigs answer is computed once. */
export class InfluenceMeter {
  readonly #folder = mkdtempSync(join(tmpdir(), 'holdfast-influence-'));
  readonly #unchanged = new Map<string, string>();

  /** The programs whose answer changes with the entry. */
  async programsThatChange({ rig, file }: ChangedEntry): Promise<string[]> {
    const found: string[] = [];
    for (const name of programs) {
      const key = `${name} ${rig}`;
      if (!this.#unchanged.has(key)) this.#unchanged.set(key, await this.#answer(name, rig));
      if ((await this.#answer(name, rig, file)) !== this.#unchanged.get(key)) found.push(name);
    }
    return found;
  }

  close(): void {
    rmSync(this.#folder, { recursive: true });
  }

  /** Digest of all that the program says, and of the frames that it writes; of a refusal, its text. */
  async #answer(name: string, rig: string, file = rigs[rig]): Promise<string> {
    const entry = commands.find((command) => command.name === name) as (typeof commands)[number];
    const program: Command = await entry.load();
    const folder = mkdtempSync(join(this.#folder, 'run-'));
    const rigFile = join(folder, 'rig.json');
    writeFileSync(rigFile, JSON.stringify(file));
    const frame = name === 'frames' ? await this.#frame() : '';
    const args = settings[name].map((text) =>
      text === 'FRAME' ? frame : /\.(html|fits)$/.test(text) ? join(folder, text) : text,
    );
    const said: unknown[] = [];
    try {
      const { values, files } = readOptions(program, ['--rig', rigFile, ...args]);
      const answer = await program.run(values(), { files, say: (lines) => said.push(lines), isJson: false });
      said.push(answer?.data, answer?.text());
    } catch (error) {
      // A change may make a rig unusable, which is an answer, too; the rigs themselves must be answered.
      if (file === rigs[rig]) throw new Error(`${name} refuses ${rig}`, { cause: error });
      said.push(`${error}`);
    }
    for (const written of readdirSync(folder))
      if (written.endsWith('.fits')) said.push(readFileSync(join(folder, written), 'base64'));
    rmSync(folder, { recursive: true });
    return createHash('sha256').update(JSON.stringify(said, withoutRig).replaceAll(folder, '')).digest('hex');
  }

  #frameFile: string | undefined;
  async #frame(): Promise<string> {
    if (this.#frameFile === undefined) {
      const file = join(this.#folder, 'frame.fits');
      const rigFile = join(this.#folder, 'frame-rig.json');
      // A round ring: a comet's gets no verdict.
      const { pickoff: _, ...onAxis } = rigs['plain'] as object & { pickoff?: unknown };
      writeFileSync(rigFile, JSON.stringify(onAxis));
      const entry = commands.find(({ name }) => name === 'simulate-frame') as (typeof commands)[number];
      const program: Command = await entry.load();
      const options = [
        '--rig',
        rigFile,
        '--shift',
        '200',
        '--size',
        '96x64',
        '--magnitude',
        '9',
        '--out',
        file,
      ];
      const { values } = readOptions(program, options);
      await program.run(values(), { files: [], say: () => {}, isJson: true });
      this.#frameFile = file;
    }
    return this.#frameFile;
  }
}

/** An answer that only repeats the rig, or a digest of it, does not follow it. */
const withoutRig = (key: string, value: unknown) => (key === 'rig' || key === 'plan' ? undefined : value);

/** Pairs of entry and program that should be changed by it, or have a reason why not. */
export function unexplained(table: Influence): string[] {
  return Object.entries(table).flatMap(([entry, { changes }]) =>
    programs
      .filter((program) => !changes.includes(program) && reasonFor(entry, program) === undefined)
      .map((program) => `${entry} does not change ${program}`),
  );
}

/** Reasons that explain nothing: the answer changes, or the entry is no more. */
export const unused = (table: Influence): string[] =>
  reasons.flatMap(({ entries, programs: names, reason }) => {
    const explains = Object.entries(table).some(
      ([entry, { changes }]) =>
        entries.some((start) => isBelow(entry, start)) && names.some((name) => !changes.includes(name)),
    );
    return explains ? [] : [reason];
  });

if (process.argv[1] === fileURLToPath(import.meta.url)) await main();

async function main(): Promise<void> {
  const { values, positionals } = parseArgs({
    options: { write: { type: 'boolean' }, missing: { type: 'boolean' } },
    allowPositionals: true,
  });
  const before = existsSync(tablePath) ? committed() : {};
  const entries = changedEntries();
  const asked = entries.filter(
    ({ entry }) => positionals.every((word) => entry.includes(word)) && !(values.missing && before[entry]),
  );
  const table = Object.fromEntries(
    entries.flatMap(({ entry }) => (before[entry] ? [[entry, before[entry]]] : [])),
  );
  const meter = new InfluenceMeter();
  for (const [i, change] of asked.entries()) {
    process.stderr.write(`\r\x1b[K${i + 1}/${asked.length} ${change.entry}`);
    const changes = await meter.programsThatChange(change);
    const told = before[change.entry]?.changes ?? [];
    if (`${told}` !== `${changes}`) {
      console.log(`${change.entry}: changes ${changes.join(', ')}; in the table ${told.join(', ')}`);
      if (!values.write) process.exitCode = 1;
    }
    table[change.entry] = { rig: change.rig, changes };
    if (values.write) writeFileSync(tablePath, textOf(table));
  }
  process.stderr.write('\r\x1b[K');
  meter.close();
  for (const fault of unexplained(table)) {
    console.log(`without a reason: ${fault}`);
    process.exitCode = 1;
  }
}

function textOf(table: Influence): string {
  const lines = Object.entries(table).map(
    ([entry, row]) => `  ${JSON.stringify(entry)}: ${JSON.stringify(row)}`,
  );
  return `{\n${lines.join(',\n')}\n}\n`;
}
