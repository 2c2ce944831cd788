/**
 * Compiles the loops of psf/kernel/ to WebAssembly. `npm run kernel` writes each module into
 * psf/src/kernel/<name>-code.ts. Tests compare what stands there with this.
 */
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, dirname, join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';

/** Pages of 64 KiB of memory that `loops.ts` gives each module at least. */
const leastPages = { kernel: 17, boxes: 1 };

export type KernelName = keyof typeof leastPages;

export const kernelNames = Object.keys(leastPages) as KernelName[];

const sourceOf = (name: KernelName) => fileURLToPath(new URL(`psf/kernel/${name}.ts`, import.meta.url));

/** Where the module stands as text. */
export const kernelTarget = (name: KernelName): string =>
  fileURLToPath(new URL(`psf/src/kernel/${name}-code.ts`, import.meta.url));

/** What tells the source of a module: it stands in the first line of the file made from it. */
export const kernelSource = (name: KernelName): string =>
  createHash('sha256')
    .update(readFileSync(sourceOf(name)))
    .digest('hex');

/** Fetched when it is asked for: it takes 100 MB, and no build needs it. */
const compiler = 'assemblyscript@0.28.20';
const options = '-O3 --noAssert --enable simd --runtime stub --importMemory --initialMemory'.split(' ');

/** The file that holds the module, as it follows from the source. */
export function kernelFile(name: KernelName): string {
  const source = sourceOf(name);
  const folder = mkdtempSync(join(tmpdir(), 'holdfast-kernel-'));
  const module = join(folder, 'kernel.wasm');
  try {
    const args = [
      '--yes',
      '--package',
      compiler,
      'asc',
      basename(source),
      ...options,
      `${leastPages[name]}`,
      '--outFile',
      module,
    ];
    const { status, stderr } = spawnSync('npx', args, { cwd: dirname(source), encoding: 'utf8' });
    if (status !== 0) throw new Error(`${compiler} did not compile ${source}:\n${stderr}`);
    return textOf(name, readFileSync(module));
  } finally {
    rmSync(folder, { recursive: true });
  }
}

function textOf(name: KernelName, code: Uint8Array): string {
  const lines = Buffer.from(code)
    .toString('base64')
    .match(/.{1,100}/g);
  return [
    `/** The WebAssembly module of kernel/${name}.ts in base64, written by \`npm run kernel\`. Of its source:`,
    ` * sha256 ${kernelSource(name)} */`,
    `export const ${name}Code = \`\n${lines?.join('\n')}\`;`,
    '',
  ].join('\n');
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? '').href)
  for (const name of kernelNames) writeFileSync(kernelTarget(name), kernelFile(name));
