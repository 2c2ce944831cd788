#!/usr/bin/env node
/**
 * The one program: its first word names what is asked; without it, whether the guide camera must be
 * refocused.
 */
import { UnusableInput } from '../reports/unusable-input.ts';
import { wrapped } from '../reports/wrapped-text.ts';
import type { Command } from './command-line/command.ts';
import { helpOf } from './command-line/help-text.ts';
import { progressLine } from './command-line/progress-line.ts';
import { readOptions } from './command-line/read-options.ts';
import { runProgram } from './command-line/run-program.ts';
import { terminalText } from './command-line/terminal-letters.ts';
import { commands, mainCommand } from './commands.ts';

runProgram(async (words) => {
  // "help sweep" is "sweep --help".
  const [word, ...rest] = words[0] === 'help' ? [...words.slice(1), '--help'] : words;
  const isNamed = word !== undefined && !word.startsWith('-');
  const name = isNamed ? word : mainCommand;
  const entry = commands.find((each) => each.name === name);
  if (entry === undefined)
    throw new UnusableInput(
      `${JSON.stringify(name)} must be one of ${commands.map((each) => each.name).join(', ')}.\nTry --help.`,
    );
  await run(await entry.load(), isNamed ? rest : word === undefined ? [] : [word, ...rest]);
});

async function run(command: Command, args: readonly string[]): Promise<void> {
  const { values, files, json, help } = readOptions(command, args);
  const print = (lines: readonly string[]) =>
    lines.length > 0 && console.log(terminalText(lines.join('\n'), process.env));
  if (help) {
    print([helpOf(command), ...(command.name === mainCommand ? ['', ...listOfCommands()] : [])]);
    return;
  }
  const progress = progressLine(process.stderr);
  const say = (lines: readonly string[]): void => {
    progress.clear();
    if (!json) print(lines);
  };
  const answer = await command
    .run(values(), { files, say, isJson: json, onProgress: progress.update })
    .finally(progress.clear);
  if (answer === undefined) return;
  if (!json) print(answer.text());
  else if (answer.isLines)
    for (const row of answer.data as readonly unknown[]) console.log(JSON.stringify(row));
  else console.log(JSON.stringify(answer.data, plainArrays, 2));
}

function listOfCommands(): string[] {
  const margin = ' '.repeat(20);
  return [
    'Other questions, each with --help:',
    ...commands
      .filter(({ name }) => name !== mainCommand)
      .flatMap(({ name, answers }) =>
        wrapped(answers, { first: `  holdfast ${name}`.padEnd(29), rest: `${margin}         ` }),
      ),
  ];
}

/** Arrays of numbers as JSON knows them. */
function plainArrays(_key: string, value: unknown): unknown {
  return value instanceof Float64Array || value instanceof Uint8Array ? Array.from(value) : value;
}
