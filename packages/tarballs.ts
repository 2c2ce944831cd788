/**
 * Packs what would be published: one tarball per package, with the versions of the sister packages in place
 * of `workspace:*`. `npm run tarballs` puts them into the folder `tarballs`.
 */
import { spawnSync } from 'node:child_process';
import { mkdirSync, readdirSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';

/** @returns the paths of the tarballs */
export function packAll(into: string): string[] {
  mkdirSync(into, { recursive: true });
  for (const name of ['psf', 'centroid', 'sim']) {
    const { status, stdout, stderr } = spawnSync(
      'npx',
      ['--yes', '--prefer-offline', 'pnpm@10.34.9', 'pack', '--pack-destination', into],
      {
        cwd: fileURLToPath(new URL(name, import.meta.url)),
        encoding: 'utf8',
        // npx is a command file on Windows.
        shell: process.platform === 'win32',
      },
    );
    if (status !== 0) throw new Error(`pnpm pack of ${name} ended with ${status}: ${stdout}${stderr}`);
  }
  return readdirSync(into)
    .filter((file) => file.endsWith('.tgz'))
    .map((file) => join(into, file));
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? '').href) {
  const folder = fileURLToPath(new URL('../tarballs', import.meta.url));
  rmSync(folder, { recursive: true, force: true });
  for (const tarball of packAll(folder)) console.log(tarball);
}
