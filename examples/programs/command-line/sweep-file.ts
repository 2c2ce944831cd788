/** The result file of a sweep on disk: opened before work begins, appended cell by cell, put in order at the end. */
import { closeSync, existsSync, openSync, readFileSync, writeSync } from 'node:fs';
import { inCellOrder, readSweepRecord, type SweepRow, sweepLines } from '@holdfast/sim';
import { UnusableInput } from './command-line.ts';
import { isSpecial, writeSafely } from './write-safely.ts';

export interface SweepFile {
  /** Rows that stood in the file already. */
  readonly rows: readonly SweepRow[];
  readonly done: ReadonlySet<number>;
  /** Add the rows of a finished cell. */
  append(rows: readonly SweepRow[]): void;
  /** Put all rows in the order of their cells. */
  finish(rows: readonly SweepRow[]): void;
}

/**
 * Open a result file, new or of an earlier run of the same sweep.
 *
 * @throws UnusableInput when it belongs to another sweep, is something else, or cannot be written: it is left as it is
 */
export function openSweepFile(file: string, plan: string, rowsPerCell: number): SweepFile {
  const text = existsSync(file) && !isSpecial(file) ? read(file) : '';
  const record = readSweepRecord(text, plan, rowsPerCell);
  if (!record.ok) throw new UnusableInput(`${file} is left as it is: ${record.message}`);
  // Rows of a cell that broke off go first, in one step, so that every line of the file is whole again.
  if (record.droppedLines > 0) writeSafely(file, sweepLines(record.rows));
  const handle = open(file);
  return {
    rows: record.rows,
    done: record.done,
    append(rows) {
      try {
        const bytes = Buffer.from(sweepLines(rows));
        for (let at = 0; at < bytes.length; ) at += writeSync(handle, bytes, at);
      } catch (error) {
        throw new UnusableInput(
          `cannot write on ${file}: ${(error as Error).message}; the cells in it are kept, run the same command again to go on`,
        );
      }
    },
    finish(rows) {
      closeSync(handle);
      if (!isSpecial(file)) writeSafely(file, sweepLines(inCellOrder(rows)));
    },
  };
}

function read(file: string): string {
  try {
    return readFileSync(file, 'utf8');
  } catch (error) {
    throw new UnusableInput(`cannot read ${file}: ${(error as Error).message}`);
  }
}

function open(file: string): number {
  try {
    return openSync(file, 'a');
  } catch (error) {
    throw new UnusableInput(`cannot write ${file}: ${(error as Error).message}`);
  }
}
