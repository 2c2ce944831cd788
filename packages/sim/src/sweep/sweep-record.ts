/**
 * The result file of a sweep: JSON Lines, one row per line, each with the fingerprint of its sweep and a
 * checksum. Rows of a cell are appended together, so a file that breaks off anywhere loses the cell at its
 * end and nothing else.
 */
import { requireNames, requireText } from '@holdfast/psf/numerics';
import { escaped } from '../rig/rig-fault.ts';
import type { SweepRow } from './sweep-cell.ts';

/** What is wrong with one line of a result file. */
export interface DamagedLine {
  /** From 1. */
  readonly line: number;
  /** What is wrong with it. */
  readonly problem: string;
}

/** What an unfinished (or finished) result file holds. */
export type SweepRecord =
  | {
      readonly ok: true;
      /** Rows of complete cells, in the order of the file. */
      readonly rows: readonly SweepRow[];
      readonly done: ReadonlySet<number>;
      /**
       * Lines that are to be dropped: of a cell that broke off, and of cells with a damaged line where those
       * are repaired.
       */
      readonly droppedLines: number;
      /** Damaged lines; without `repair` there are none in a record that is ok. */
      readonly damaged: readonly DamagedLine[];
    }
  | {
      readonly ok: false;
      readonly reason: 'other-sweep' | 'not-a-sweep' | 'damaged';
      /** What was found and where, for people. */
      readonly message: string;
    };

/** How a result file is read. */
export interface SweepRecordOptions {
  /** Fingerprint that every row must have; left out, that of the first row. */
  readonly plan?: string;
  /** Number of cells of the whole sweep; left out, any cell number is taken. */
  readonly cells?: number;
  /** Rows that make a cell complete; left out, every whole line is taken. */
  readonly rowsPerCell?: number;
  /**
   * Drop the cells of damaged lines, so that they are computed again, instead of refusing the file. Default:
   * false.
   */
  readonly repair?: boolean;
}

/** The rows of one cell as text, each line ended and with its checksum. */
export function sweepLines(rows: readonly SweepRow[]): string {
  return rows
    .map((row) => {
      const text = JSON.stringify(row);
      return `${text.slice(0, -1)},"check":"${checksum(text)}"}\n`;
    })
    .join('');
}

/**
 * Read a result file, finished or broken off. A line that was changed, that repeats another one or that
 * belongs to no cell of the sweep is damaged: the file is refused with the number of that line, or repaired.
 * Rows of another sweep are always refused.
 */
export function readSweepRecord(text: string, options: SweepRecordOptions = {}): SweepRecord {
  requireNames('options', options, 'plan cells rowsPerCell repair');
  const lines = requireText('text', text).split('\n');
  const broken = lines.pop() === '' ? 0 : 1;
  const rows: SweepRow[] = [];
  const damaged: DamagedLine[] = [];
  const spoiled = new Set<number>();
  const counts = new Map<number, number>();
  const seen = new Set<string>();
  let plan = options.plan;
  for (const [index, line] of lines.entries()) {
    const row = parseRow(line);
    if (index === 0 && row === undefined)
      return { ok: false, reason: 'not-a-sweep', message: `line 1 is no row of a sweep: ${shown(line)}` };
    plan ??= row?.plan;
    const intact = row !== undefined && isIntact(line);
    if (intact && row.plan !== plan)
      return {
        ok: false,
        reason: 'other-sweep',
        message: `line ${index + 1} belongs to sweep ${row.plan}, not to ${plan}: another rig, plan or version`,
      };
    const count = row === undefined ? 0 : (counts.get(row.cell) ?? 0) + 1;
    const problem = !row
      ? `is no row of a sweep: ${shown(line)}`
      : !intact
        ? 'does not match its checksum: it was changed after it was written'
        : !(row.cell >= 0 && row.cell < (options.cells ?? Infinity))
          ? `holds cell ${row.cell}; this sweep has cells 0 to ${(options.cells ?? 0) - 1}`
          : seen.has(line) || count > (options.rowsPerCell ?? Infinity)
            ? `repeats a row of cell ${row.cell}`
            : undefined;
    if (problem !== undefined) damaged.push({ line: index + 1, problem });
    if (row !== undefined && !intact) spoiled.add(row.cell);
    if (problem !== undefined || row === undefined) continue;
    seen.add(line);
    counts.set(row.cell, count);
    rows.push(row);
  }
  if (damaged.length > 0 && options.repair !== true)
    return {
      ok: false,
      reason: 'damaged',
      message: damagedText(damaged),
    };
  const done = new Set(
    [...counts]
      .filter(([cell, count]) => count === (options.rowsPerCell ?? count) && !spoiled.has(cell))
      .map(([cell]) => cell),
  );
  const kept = rows.filter(({ cell }) => done.has(cell));
  return { ok: true, rows: kept, done, droppedLines: lines.length - kept.length + broken, damaged };
}

/**
 * Rows in the order of their cells, those of a cell as they came: a finished file does not tell who ran which
 * cell when.
 */
export function inCellOrder(rows: readonly SweepRow[]): SweepRow[] {
  return rows
    .map((row, index) => ({ row, index }))
    .sort((a, b) => a.row.cell - b.row.cell || a.index - b.index)
    .map(({ row }) => row);
}

/** The damaged lines in words, the first few of many. */
export function damagedText(damaged: readonly DamagedLine[]): string {
  const first = damaged.slice(0, 5).map(({ line, problem }) => `line ${line} ${problem}`);
  const more = damaged.length - first.length;
  return [...first, ...(more > 0 ? [`and ${more} more damaged lines`] : [])].join('\n');
}

const ending = /,"check":"[0-9a-f]{8}"\}$/;

function isIntact(line: string): boolean {
  const end = ending.exec(line);
  return end !== null && end[0].slice(10, 18) === checksum(`${line.slice(0, end.index)}}`);
}

function parseRow(line: string): SweepRow | undefined {
  try {
    const { check: _, ...row } = JSON.parse(line) as Partial<SweepRow> & { readonly check?: unknown };
    return typeof row.plan === 'string' && Number.isInteger(row.cell) ? (row as SweepRow) : undefined;
  } catch {
    return undefined;
  }
}

/**
 * FNV-1a with 32 bits (Fowler, Noll & Vo; offset and prime as in draft-eastlake-fnv), eight hexadecimal
 * digits, over the UTF-16 code units of the text, low byte first. It guards against slips and broken disks,
 * not against forgery.
 */
function checksum(text: string): string {
  let hash = 0x811c9dc5;
  for (let i = 0; i < text.length; i++) {
    const unit = text.charCodeAt(i);
    hash = Math.imul(hash ^ (unit & 0xff), 0x01000193);
    hash = Math.imul(hash ^ (unit >> 8), 0x01000193);
  }
  return (hash >>> 0).toString(16).padStart(8, '0');
}

/** The start of a line, control characters escaped. */
function shown(line: string): string {
  return escaped(JSON.stringify(line.length > 60 ? `${line.slice(0, 57)}...` : line));
}
