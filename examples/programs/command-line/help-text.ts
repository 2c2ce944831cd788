/** The help of a program, made from its table of options. */
import { wrapped } from '../../reports/wrapped-text.ts';
import type { Command } from './command.ts';
import { flag, type Option } from './option.ts';
import { optionName } from './read-options.ts';

const widthOfHelp = 100;
/** Longer names of options stand on a line of their own. */
const widthOfNames = 24;

export function helpOf({ name, question, about = [], files, options, notes = [] }: Command): string {
  const rows: readonly (readonly [string, Option<unknown>])[] = [
    ...Object.entries<Option<unknown>>(options),
    ['json', flag('print everything as JSON instead of text')],
    ['help', flag('this text')],
  ];
  const paragraphs = (texts: readonly string[]) =>
    texts.flatMap((text) => ['', ...wrapped(text, { width: widthOfHelp, rest: '' })]);
  return [
    question,
    '',
    `  npx holdfast ${name} [options]${files ? ` ${files}` : ''}`,
    ...paragraphs(about),
    '',
    ...rows.flatMap(([option, described]) => optionLines(optionName(option), described)),
    ...paragraphs(notes),
    ...paragraphs(['Exit status: 0 success, 2 bad input (nothing is written then), 1 any other error.']),
  ].join('\n');
}

function optionLines(name: string, { value, help, otherwiseText }: Option<unknown>): string[] {
  const left = `  --${name}${value ? ` ${value}` : ''}`;
  const text = otherwiseText === undefined ? help : `${help}. Default: ${otherwiseText}`;
  const margin = ' '.repeat(widthOfNames);
  const fits = left.length < widthOfNames;
  const lines = wrapped(text, {
    width: widthOfHelp,
    first: fits ? left.padEnd(widthOfNames) : margin,
    rest: margin,
  });
  return fits ? lines : [left, ...lines];
}
