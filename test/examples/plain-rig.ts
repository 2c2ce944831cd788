/** An example rig with its star on the axis and drawn by rays: what is to come of it can be told by hand. */
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { freshFolder, repository } from './run-example.ts';

/** Writes the rig into a folder of its own; returns the file. */
export function plainRig(name: string): string {
  const text = readFileSync(join(repository, 'examples/rigs', `${name}.json`), 'utf8');
  const { pickoff: _, ...rig } = JSON.parse(text);
  const { design: __, ...telescope } = rig.telescope;
  const file = join(freshFolder(), `${name}.json`);
  writeFileSync(file, JSON.stringify({ ...rig, telescope, starModel: 'geometric' }));
  return file;
}
