/** The temporary folder of a run of the tests: all that they write lies in it, and goes with it. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

export default function makeScratchFolder(): () => void {
  const [before, folder] = [process.env['TMPDIR'], mkdtempSync(join(tmpdir(), 'holdfast-tests-'))];
  // Inherited by the processes of the tests, and by the programs that they start.
  process.env['TMPDIR'] = folder;
  return () => {
    if (before === undefined) delete process.env['TMPDIR'];
    else process.env['TMPDIR'] = before;
    rmSync(folder, { recursive: true, force: true });
  };
}
