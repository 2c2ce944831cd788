/** The rig that a program works on: a file that the user names, or the example. */
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { parseRig, type Rig, RigError, rigNotices } from '@holdfast/sim';
import { UnusableInput } from './command-line.ts';

/** The repository's root: programs run as examples/dist/*.js. */
export const root = new URL('../../../../', import.meta.url);

/** @throws UnusableInput that says what is wrong with the file, all faults at once */
export function readRig(file: string | undefined): Rig {
  const path = file ?? fileURLToPath(new URL('examples/rigs/fast-reflector.json', root));
  let text: string;
  try {
    text = readFileSync(path, 'utf8');
  } catch (error) {
    throw new UnusableInput(`cannot read the rig: ${(error as Error).message}`);
  }
  try {
    for (const notice of rigNotices(text)) console.error(`${path}: ${notice}`);
    return parseRig(text);
  } catch (error) {
    if (error instanceof RigError)
      throw new UnusableInput(`the rig ${path} cannot be used:\n${error.message}`);
    throw error;
  }
}
