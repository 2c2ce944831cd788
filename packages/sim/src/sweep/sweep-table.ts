/**
 * Rows of a sweep as a flat table: nested numbers become columns with dotted names, and back again without
 * loss.
 */
import { requireText } from '@holdfast/psf/numerics';
import { csvFormat, csvParse } from 'd3-dsv';
import type { SweepRow } from './sweep-cell.ts';

/** A cell of the table; null where the row has nothing. */
export type TableValue = string | number | boolean | null;
export type TableRow = Readonly<Record<string, TableValue>>;

/** Columns that hold text even where it looks like a number. */
const textColumns = new Set(['plan', 'version', 'rig', 'seed', 'estimator', 'ownStar']);

/** Columns that hold true or false. */
const answerColumns = new Set(['followsStar']);

/**
 * `{ scatterPx: { value: 0.2, standardError: 0.01 } }` becomes
 * `{ 'scatterPx.value': 0.2, 'scatterPx.standardError': 0.01 }`.
 */
export function flattenRow(row: SweepRow): TableRow {
  const flat: Record<string, TableValue> = {};
  const add = (name: string, value: unknown): void => {
    if (value === null || value === undefined) flat[name] = null;
    else if (Array.isArray(value)) {
      // The length tells an array of nulls from none.
      flat[`${name}.length`] = value.length;
      for (const [i, part] of value.entries()) if (part !== null) add(`${name}.${i}`, part);
    } else if (typeof value === 'object')
      for (const [key, part] of Object.entries(value)) add(`${name}.${key}`, part);
    else flat[name] = textColumns.has(name) ? String(value) : (value as string | number | boolean);
  };
  for (const [name, value] of Object.entries(row)) add(name, value);
  return flat;
}

/** The inverse of `flattenRow`. */
export function unflattenRow(flat: TableRow): SweepRow {
  const row: Record<string, unknown> = { lostReasons: {} };
  for (const [name, value] of Object.entries(flat)) {
    if (value === null) continue;
    const parts = name.split('.');
    const last = parts.pop() as string;
    let place = row;
    for (const part of last === 'length' ? parts.slice(0, -1) : parts) {
      place[part] ??= {};
      place = place[part] as Record<string, unknown>;
    }
    if (last === 'length')
      place[parts.at(-1) as string] = Array.from({ length: value as number }, () => null);
    else place[last] = value;
  }
  return row as unknown as SweepRow;
}

/** Every column of some rows, in the order in which they first appear. */
export function tableColumns(rows: readonly TableRow[]): string[] {
  return [...new Set(rows.flatMap((row) => Object.keys(row)))];
}

/**
 * Comma-separated values with a header line (RFC 4180); numbers with all their digits. A text that begins
 * like a formula gets an apostrophe, so that no spreadsheet runs it.
 */
export function sweepToCsv(rows: readonly SweepRow[]): string {
  const flat = rows.map((row) =>
    Object.fromEntries(
      Object.entries(flattenRow(row)).map(([name, value]) => [
        name,
        typeof value === 'string' ? value.replace(/^(?='*[=+\-@\t\r])/, "'") : value,
      ]),
    ),
  );
  return `${csvFormat(flat, tableColumns(flat))}\n`;
}

/** The rows of a table that `sweepToCsv` wrote. */
export function sweepFromCsv(text: string): SweepRow[] {
  return csvParse(requireText('text', text)).map((record) =>
    unflattenRow(
      Object.fromEntries(
        Object.entries(record).map(([name, value]) => [
          name,
          value === ''
            ? null
            : textColumns.has(name)
              ? value.replace(/^'(?='*[=+\-@\t\r])/, '')
              : answerColumns.has(name)
                ? value === 'true'
                : Number(value),
        ]),
      ),
    ),
  );
}
