/**
 * Writes packages/sim/rig.schema.json, the JSON Schema that editors check rig files with, from the library's
 * own schema.
 */
import { fileURLToPath } from 'node:url';
import { rigJsonSchema } from '@holdfast/sim';
import { writeSafely } from '../programs/command-line/write-safely.ts';

const file = fileURLToPath(new URL('../../../packages/sim/rig.schema.json', import.meta.url));
writeSafely(file, `${JSON.stringify(rigJsonSchema(), undefined, 2)}\n`);
console.log(`wrote ${file}`);
