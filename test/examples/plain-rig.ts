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
export const plainRig = (name: string): string => written(name, plainText(name));

/**
 * The same with two of its filters. The first two stand near focus: no window is large, and no cure is looked
 * for.
 */
export function smallText(name: string, filters?: readonly string[]): Record<string, unknown> {
  const text = plainText(name);
  const all = text['filters'] as readonly { readonly name: string }[];
  return {
    ...text,
    filters: filters === undefined ? all.slice(0, 2) : all.filter((filter) => filters.includes(filter.name)),
  };
}

export const smallRig = (name: string, filters?: readonly string[]): string =>
  written(name, smallText(name, filters));

function written(name: string, text: Record<string, unknown>): string {
  const file = join(freshFolder(), `${name}.json`);
  writeFileSync(file, JSON.stringify(text));
  return file;
}
