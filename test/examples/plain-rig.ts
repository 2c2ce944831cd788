/**
 * An example rig with its star on the axis and drawn by rays: what is to come of it can be told by hand, and
 * it is quick.
 */
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { freshFolder, repository } from './run-example.ts';

/** What an example rig's file says. */
export function rigText(name: string): Record<string, unknown> {
  const { $schema: _, ...text } = JSON.parse(
    readFileSync(join(repository, 'examples/rigs', `${name}.json`), 'utf8'),
  );
  return text;
}

export function plainText(name: string): Record<string, unknown> {
  const { pickoff: _, telescope, ...rig } = rigText(name);
  const { design: __, ...plain } = telescope as Record<string, unknown>;
  return { ...rig, telescope: plain, starModel: 'geometric' };
}

/** Writes the rig into a folder of its own; returns the file. */
export function plainRig(name: string): string {
  const file = join(freshFolder(), `${name}.json`);
  writeFileSync(file, JSON.stringify(plainText(name)));
  return file;
}
