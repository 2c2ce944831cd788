/**
 * Compiles the loops of psf/kernel/kernel.ts to WebAssembly. `npm run kernel` writes the module into
 * psf/src/kernel/kernel-code.ts. Tests compare what stands there with this.
 */
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, dirname, join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';

const source = fileURLToPath(new URL('psf/kernel/kernel.ts', import.meta.url));
const target = fileURLToPath(new URL('psf/src/kernel/kernel-code.ts', import.meta.url));

/** What tells the source of a module: it stands in the first line of the file made from it. */
export const kernelSource = (): string => createHash('sha256').update(readFileSync(source)).digest('hex');

/** Fetched when it is asked for: it takes 100 MB, and no build needs it. */
const compiler = 'assemblyscript@0.28.20';
/** Memory as `loops.ts` gives it: so many pages of 64 KiB, and slots after them. */
const options =
  '-O3 --noAssert --enable simd --runtime stub --importMemory --initialMemory 17 --outFile'.split(' ');

/** The file that holds the module, as it follows from the source. */
export function kernelFile(): string {
  const folder = mkdtempSync(join(tmpdir(), 'holdfast-kernel-'));
  const module = join(folder, 'kernel.wasm');
  try {
    const args = ['--yes', '--package', compiler, 'asc', basename(source), ...options, module];
    const { status, stderr } = spawnSync('npx', args, { cwd: dirname(source), encoding: 'utf8' });
    if (status !== 0) throw new Error(`${compiler} did not compile ${source}:\n${stderr}`);
    return textOf(readFileSync(module));
  } finally {
    rmSync(folder, { recursive: true });
  }
}

function textOf(code: Uint8Array): string {
  const lines = Buffer.from(code)
    .toString('base64')
    .match(/.{1,100}/g);
  return [
    '/** The WebAssembly module of kernel/kernel.ts in base64, written by `npm run kernel`. Of its source:',
    ` * sha256 ${kernelSource()} */`,
    `export const kernelCode = \`\n${lines?.join('\n')}\`;`,
    '',
  ].join('\n');
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? '').href) writeFileSync(target, kernelFile());
