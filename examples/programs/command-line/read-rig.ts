/** The rig that a program works on: a file that the user names, or the example. */
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { parseRig, type Rig, RigError, rigNotices } from '@holdfast/sim';
import { UnusableInput } from '../../reports/unusable-input.ts';

/** The repository's root: programs run as examples/dist/programs/*.js. */
export const root = new URL('../../../../', import.meta.url);

export const exampleRig = 'examples/rigs/fast-reflector.json';

/** @throws UnusableInput that says what is wrong with the file, all faults at once */
export function readRig(file: string | undefined): Rig {
  if (file === '') throw new UnusableInput('--rig must not be empty');
  const path = file ?? fileURLToPath(new URL(exampleRig, root));
  let text: string;
  try {
    text = readFileSync(path, 'utf8');
  } catch (error) {
    throw new UnusableInput(`cannot read the rig: ${(error as Error).message}`);
  }
  return usableRig(path, () => {
    for (const notice of rigNotices(text)) console.error(`${path}: ${notice}`);
    return parseRig(text);
  });
}

/** @throws UnusableInput with all faults of a rig */
export function usableRig<T>(name: string, make: () => T): T {
  try {
    return make();
  } catch (error) {
    if (error instanceof RigError)
      throw new UnusableInput(`the rig ${name} cannot be used:\n${error.message}`);
    throw error;
  }
}
