/** Open images and tables that others made: `test/data`, whose README names origin and license of each. */
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

export const openDataPath = (name: string): string => fileURLToPath(new URL(`data/${name}`, import.meta.url));

export const readOpenData = (name: string): Uint8Array => new Uint8Array(readFileSync(openDataPath(name)));
