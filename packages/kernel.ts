/**
 * Compiles the loops of psf/kernel/kernel.ts to WebAssembly. `npm run kernel` writes the module into
 * psf/src/kernel/kernel-code.ts. Tests compare what stands there with this.
 */
import { createHash } from 'node:crypto';
import { readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath, pathToFileURL } from 'node:url';

const source = fileURLToPath(new URL('psf/kernel/kernel.ts', import.meta.url));
const target = fileURLToPath(new URL('psf/src/kernel/kernel-code.ts', import.meta.url));

/** What tells the source of a module: it stands in the first line of the file made from it. */
export const kernelSource = (): string => createHash('sha256').update(readFileSync(source)).digest('hex');

/** The file that holds the module, as it follows from the source. */
export async function kernelFile(): Promise<string> {
  // It takes seconds to load: only here.
  const { default: asc } = await import('assemblyscript/asc');
  let code: Uint8Array = new Uint8Array();
  const { error, stderr } = await asc.main(
    ['kernel.ts', '-O3', '--noAssert', '--enable', 'simd', '--runtime', 'stub', '--outFile', 'kernel.wasm'],
    {
      readFile: (name) => (name === 'kernel.ts' ? readFileSync(source, 'utf8') : null),
      writeFile: (name, contents) => {
        if (name === 'kernel.wasm') code = Uint8Array.from(contents as Uint8Array);
      },
    },
  );
  if (error || stderr.toString()) throw new Error(`${error?.message}\n${stderr.toString()}`);
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

if (import.meta.url === pathToFileURL(process.argv[1] ?? '').href) writeFileSync(target, await kernelFile());
