/** Writing a file so that a failed run never destroys what stood there before. */
import { renameSync, rmSync, writeFileSync } from 'node:fs';
import { UnusableInput } from './command-line.ts';

/** Write beside the target, then move into place in one step. @throws UnusableInput when the place cannot be written */
export function writeSafely(file: string, content: string | Uint8Array): void {
  const beside = `${file}.${process.pid}.part`;
  try {
    writeFileSync(beside, content);
    renameSync(beside, file);
  } catch (error) {
    rmSync(beside, { force: true });
    throw new UnusableInput(`cannot write ${file}: ${(error as Error).message}`);
  }
}
