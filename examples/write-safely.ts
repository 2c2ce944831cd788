/** Writing a file so that a failed run never destroys what stood there before. */
import { renameSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { UnusableInput } from './command-line.ts';

/**
 * Write beside the target, then move into place in one step; a device or a pipe is written to as it is.
 *
 * @throws UnusableInput when the place cannot be written
 */
export function writeSafely(file: string, content: string | Uint8Array): void {
  const special = isSpecial(file);
  const beside = special ? file : `${file}.${process.pid}.part`;
  try {
    writeFileSync(beside, content);
    if (!special) renameSync(beside, file);
  } catch (error) {
    if (!special) rmSync(beside, { force: true });
    throw new UnusableInput(`cannot write ${file}: ${(error as Error).message}`);
  }
}

/** Something that exists and is neither a file nor a folder: to replace it would take it from others. */
export function isSpecial(file: string): boolean {
  const found = statSync(file, { throwIfNoEntry: false });
  return found !== undefined && !found.isFile() && !found.isDirectory();
}
