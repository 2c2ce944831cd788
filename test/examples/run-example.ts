/** Runs a built example as a user would, in a folder of its own. */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readdirSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { expect } from 'vitest';

export interface Run {
  readonly status: number | null;
  readonly stdout: string;
  readonly stderr: string;
}

export const repository = fileURLToPath(new URL('../..', import.meta.url));

/** The built program; the name of a question and its options follow. */
export const holdfast = join(repository, 'examples/dist/programs/holdfast.js');

export const freshFolder = (): string => mkdtempSync(join(tmpdir(), 'holdfast-'));

/** What the built program says and computes. */
export interface Answered {
  readonly text: string;
  // biome-ignore lint/suspicious/noExplicitAny: the program's own JSON, looked at field by field
  readonly data: any;
}

/**
 * The built program in this process, without the second that each start takes: its text and its data come of
 * one run. Refused input is thrown, as the program's `UnusableInput`, which it ends with 2.
 */
export async function answerHere(
  name: string,
  args: readonly string[],
  cwd = freshFolder(),
  said: string[] = [],
): Promise<Answered> {
  const built = (path: string) =>
    import(pathToFileURL(join(repository, 'examples/dist/programs', path)).href);
  const { commands } = await built('commands.js');
  const { readOptions } = await built('command-line/read-options.js');
  const command = await commands.find((each: { name: string }) => each.name === name).load();
  const before = process.cwd();
  process.chdir(cwd);
  try {
    const { values, files, json } = readOptions(command, args);
    const say = (lines: readonly string[]) => said.push(...lines);
    const answer = await command.run(values(), { files, say, isJson: json });
    const text = [...said, ...answer.text()].join('\n');
    return { text, data: JSON.parse(JSON.stringify(answer.data, plainArrays)) };
  } finally {
    process.chdir(before);
  }
}

/** What the program says of input that it cannot use, before it has said or written anything else. */
export async function refusalHere(
  name: string,
  args: readonly string[],
  cwd = freshFolder(),
): Promise<string> {
  const files = readdirSync(cwd);
  const said: string[] = [];
  const refusal = await answerHere(name, args, cwd, said).then(
    () => undefined,
    (error: Error) => error,
  );
  expect(refusal?.constructor.name, `${refusal?.stack}`).toBe('UnusableInput');
  expect(said).toEqual([]);
  expect(readdirSync(cwd)).toEqual(files);
  return `${refusal?.message}`;
}

/** Typed arrays as the program prints them. */
const plainArrays = (_: string, value: unknown): unknown =>
  ArrayBuffer.isView(value) ? Array.from(value as Float64Array) : value;

export const runExample = (name: string, args: readonly string[], cwd?: string): Run =>
  runHoldfast([name, ...args], cwd);

export function runHoldfast(args: readonly string[], cwd = freshFolder(), environment = {}): Run {
  const { status, stdout, stderr } = spawnSync(process.execPath, [holdfast, ...args], {
    cwd,
    encoding: 'utf8',
    maxBuffer: 1 << 28,
    env: { ...process.env, ...environment },
  });
  return { status, stdout, stderr };
}
