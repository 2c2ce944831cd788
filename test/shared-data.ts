/**
 * Open images that stand beside the repository, not in it (`shared/data` next to the checkout, or the folder that
 * HOLDFAST_DATA names). Tests that read them say so when they are skipped.
 */
import { existsSync, readFileSync } from 'node:fs';
import { test } from 'vitest';

const folder = process.env['HOLDFAST_DATA'] ?? new URL('../../shared/data', import.meta.url).pathname;

export const hasSharedData = existsSync(folder);

export const sharedDataPath = (name: string): string => `${folder}/${name}`;

export const readSharedData = (name: string): Uint8Array =>
  new Uint8Array(readFileSync(sharedDataPath(name)));

/** `test`, or a skipped test whose title says that the open data folder is absent. */
export function testWithData(title: string, body: () => void | Promise<void>): void {
  if (hasSharedData) test(title, body);
  else test.skip(`${title} (skipped: no open data folder; set HOLDFAST_DATA)`, body);
}
