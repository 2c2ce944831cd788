/** The results as a Markdown table, which a terminal shows well too. */

import type { ReferenceResult, RowResult } from './run-row.ts';
import type { Spread } from './spread.ts';

/**
 * A line per reference: our speed, its speed, the ratio with its quartiles, whether the goal is met, and
 * whether the machine was disturbed.
 */
export function resultTable(results: readonly RowResult[]): string {
  const head = ['work', 'ours', 'reference', '', 'ratio (quartiles)', 'goal', ''];
  const lines = results.flatMap((row) =>
    row.references.map((reference, i) => [
      i === 0 ? `${row.name}: ${row.work}` : '',
      i === 0 ? speedText(row.speed.median, row.unit) : '',
      reference.label,
      ...referenceCells(reference, row),
    ]),
  );
  const widths = head.map((cell, i) => Math.max(cell.length, ...lines.map((line) => line[i].length)));
  const text = (cells: readonly string[]) =>
    `| ${cells.map((cell, i) => cell.padEnd(widths[i])).join(' | ')} |`;
  return [text(head), text(widths.map((width) => '-'.repeat(width))), ...lines.map(text)].join('\n');
}

function referenceCells(
  { speed, ratio, goal, missing }: ReferenceResult,
  { unit, idleness: { disturbed } }: RowResult,
): string[] {
  const asked = goal === undefined ? '' : `>= ${goal}`;
  if (speed === undefined || ratio === undefined) return ['', `not run: ${missing} is missing`, asked, ''];
  return [
    speedText(speed.median, unit),
    ratioText(ratio),
    asked,
    `${verdict(ratio, goal)}${disturbed === undefined ? '' : ' noisy'}`.trim(),
  ];
}

function verdict(ratio: Spread, goal: number | undefined): string {
  if (goal === undefined) return '';
  return ratio.median >= goal ? 'met' : 'missed';
}

const digits = (value: number): string =>
  value >= 100 ? Math.round(Number(value.toPrecision(3))).toLocaleString('en') : value.toPrecision(3);

function ratioText({ median, lower, upper }: Spread): string {
  return `${digits(median)} (${digits(lower)} to ${digits(upper)})`;
}

/** Units a second from one per second on, else the seconds of a unit. */
function speedText(perSecond: number, unit: string): string {
  return perSecond >= 1 ? `${digits(perSecond)} ${unit}s/s` : `${digits(1 / perSecond)} s a ${unit}`;
}
