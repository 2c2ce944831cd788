/** Writing a file so that a failed run never destroys what stood there before. */
import { existsSync, renameSync, rmSync, statSync, writeFileSync } from 'node:fs';

/** A result that cannot be written: ends the program with status 1. */
export class WriteFailure extends Error {}

/**
 * Write beside the target, then move into place in one step; a device or a pipe is written to as it is.
 *
 * @throws WriteFailure when the place cannot be written
 */
export function writeSafely(file: string, content: string | Uint8Array): void {
  const beside = `${file}.${process.pid}.part`;
  try {
    if (isSpecial(file)) {
      writeFileSync(file, content);
      return;
    }
    writeFileSync(beside, content);
    renameSync(beside, file);
  } catch (error) {
    if (existsSync(beside)) rmSync(beside);
    throw new WriteFailure(`cannot write ${file}: ${(error as Error).message}`);
  }
}

/** Something that exists and is neither a file nor a folder: to replace it would take it from others. */
export function isSpecial(file: string): boolean {
  if (!existsSync(file)) return false;
  const found = statSync(file);
  return !found.isFile() && !found.isDirectory();
}
