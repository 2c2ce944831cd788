/**
 * The result file of a sweep on disk: opened before work begins, appended cell by cell, put in order at the
 * end.
 */
import { closeSync, existsSync, openSync, readFileSync, writeSync } from 'node:fs';
import { inCellOrder, readSweepRecord, type SweepRow, sweepLines } from '@holdfast/sim';
import { damagedText } from '@holdfast/sim/internal';
import { UnusableInput } from '../../reports/unusable-input.ts';
import { isSpecial, WriteFailure, writeSafely } from '../command-line/write-safely.ts';
import { lockFile } from './file-lock.ts';

export interface SweepFile {
  /** Rows that stood in the file already. */
  readonly rows: readonly SweepRow[];
  readonly done: ReadonlySet<number>;
  /** What `repair` found and dropped, for people; empty when nothing was damaged. */
  readonly repaired: string;
  /** Add the rows of a finished cell. */
  append(rows: readonly SweepRow[]): void;
  /** Put all rows in the order of their cells. */
  finish(rows: readonly SweepRow[]): void;
  /** Let other runs write the file. */
  close(): void;
}

export interface SweepFileOptions {
  readonly plan: string;
  readonly cells: number;
  readonly rowsPerCell: number;
  readonly repair: boolean;
}

/**
 * Open a result file, new or of an earlier run of the same sweep. One run at a time writes it.
 *
 * @throws UnusableInput when it belongs to another sweep, is damaged, is something else, or another run
 *   writes it
 * @throws WriteFailure when it cannot be written; in each case it is left as it is
 */
export async function openSweepFile(file: string, options: SweepFileOptions): Promise<SweepFile> {
  const special = isSpecial(file);
  const unlock = special ? () => undefined : await lockFile(file);
  try {
    const record = readSweepRecord(existsSync(file) && !special ? read(file) : '', options);
    if (!record.ok) {
      const remedy = record.reason === 'damaged' ? '\n--repair computes the damaged cells again.' : '';
      throw new UnusableInput(`${file} is left as it is: ${record.message}${remedy}`);
    }
    // Rows of a cell that broke off go first, in one step, so that every line of the file is whole again.
    if (record.droppedLines > 0) writeSafely(file, sweepLines(record.rows));
    const handle = open(file);
    return {
      rows: record.rows,
      done: record.done,
      repaired: damagedText(record.damaged),
      append(rows) {
        try {
          const bytes = Buffer.from(sweepLines(rows));
          for (let at = 0; at < bytes.length; ) at += writeSync(handle, bytes, at);
        } catch (error) {
          throw new WriteFailure(
            `cannot write on ${file}: ${(error as Error).message}; the cells in it are kept, run the same command again to go on`,
          );
        }
      },
      finish(rows) {
        closeSync(handle);
        if (!special) writeSafely(file, sweepLines(inCellOrder(rows)));
      },
      close: unlock,
    };
  } catch (error) {
    unlock();
    throw error;
  }
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
    throw new WriteFailure(`cannot write ${file}: ${(error as Error).message}`);
  }
}
