/**
 * Rows of a sweep as an Apache Arrow file, for notebooks and data frames in other languages.
 *
 * @module @holdfast/sim/arrow
 */
import {
  Bool,
  Float64,
  makeVector,
  Table,
  tableFromIPC,
  tableToIPC,
  Utf8,
  type Vector,
  vectorFromArray,
} from 'apache-arrow';
import type { SweepRow } from './sweep-cell.ts';
import { flattenRow, type TableValue, tableColumns, unflattenRow } from './sweep-table.ts';

/** Arrow IPC file (the format that is also called Feather version 2): a column a name, numbers as float64. */
export function sweepToArrow(rows: readonly SweepRow[]): Uint8Array {
  const flat = rows.map(flattenRow);
  const columns: Record<string, Vector> = {};
  for (const name of tableColumns(flat)) columns[name] = columnOf(flat.map((row) => row[name] ?? null));
  return tableToIPC(new Table(columns), 'file');
}

/** The rows of a file that `sweepToArrow` wrote. */
export function sweepFromArrow(bytes: Uint8Array): SweepRow[] {
  return tableFromIPC(bytes)
    .toArray()
    .map((row) => unflattenRow(row.toJSON() as Record<string, TableValue>));
}

function columnOf(values: readonly TableValue[]): Vector {
  if (values.some((value) => typeof value === 'string')) return vectorFromArray(values, new Utf8());
  if (values.some((value) => typeof value === 'boolean')) return vectorFromArray(values, new Bool());
  return values.includes(null)
    ? vectorFromArray(values, new Float64())
    : makeVector(Float64Array.from(values as readonly number[]));
}
