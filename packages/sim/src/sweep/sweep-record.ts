/**
 * The result file of a sweep: JSON Lines, one row a line, each with the fingerprint of its sweep. Rows of a cell are
 * appended together, so a file that breaks off anywhere loses the cell at its end and nothing else.
 */
import type { SweepRow } from './sweep-cell.ts';

/** What an unfinished (or finished) result file holds. */
export type SweepRecord =
  | {
      readonly ok: true;
      /** Rows of complete cells, in the order of the file. */
      readonly rows: readonly SweepRow[];
      readonly done: ReadonlySet<number>;
      /** Lines at the end that broke off or belong to an incomplete cell: to be dropped. */
      readonly droppedLines: number;
    }
  | {
      readonly ok: false;
      readonly reason: 'other-sweep' | 'not-a-sweep';
      /** What was found and where, for people. */
      readonly message: string;
    };

/** The rows of one cell as text, each line ended. */
export function sweepLines(rows: readonly SweepRow[]): string {
  return rows.map((row) => `${JSON.stringify(row)}\n`).join('');
}

/**
 * Read a result file, finished or broken off.
 *
 * @param plan         fingerprint that every row must have; leave out to take that of the first row
 * @param rowsPerCell  rows that make a cell complete; leave out to take every whole line
 */
export function readSweepRecord(text: string, plan?: string, rowsPerCell?: number): SweepRecord {
  const lines = text.split('\n');
  const broken = lines.pop() === '' ? 0 : 1;
  const rows: SweepRow[] = [];
  for (const [index, line] of lines.entries()) {
    const row = parseRow(line);
    if (row === undefined)
      return {
        ok: false,
        reason: 'not-a-sweep',
        message: `line ${index + 1} is no row of a sweep: ${shown(line)}`,
      };
    const wanted = plan ?? rows[0]?.plan;
    if (wanted !== undefined && row.plan !== wanted)
      return {
        ok: false,
        reason: 'other-sweep',
        message: `line ${index + 1} belongs to sweep ${row.plan}, not to ${wanted}: another rig, plan or version`,
      };
    rows.push(row);
  }
  const counts = new Map<number, number>();
  for (const { cell } of rows) counts.set(cell, (counts.get(cell) ?? 0) + 1);
  const done = new Set(
    [...counts].filter(([, count]) => count === (rowsPerCell ?? count)).map(([cell]) => cell),
  );
  const kept = rows.filter(({ cell }) => done.has(cell));
  return { ok: true, rows: kept, done, droppedLines: rows.length - kept.length + broken };
}

/** Rows in the order of their cells, those of a cell as they came: a finished file does not tell who ran which cell when. */
export function inCellOrder(rows: readonly SweepRow[]): SweepRow[] {
  return rows
    .map((row, index) => ({ row, index }))
    .sort((a, b) => a.row.cell - b.row.cell || a.index - b.index)
    .map(({ row }) => row);
}

function parseRow(line: string): SweepRow | undefined {
  try {
    const row = JSON.parse(line) as Partial<SweepRow> | null;
    return typeof row?.plan === 'string' && Number.isInteger(row.cell) ? (row as SweepRow) : undefined;
  } catch {
    return undefined;
  }
}

const shown = (line: string): string => (line.length > 60 ? `${line.slice(0, 57)}...` : line);
