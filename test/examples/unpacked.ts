/** The packages as they are installed from their tarballs: unpacked in a fresh folder, without sources. */
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readdirSync, readFileSync, symlinkSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { expect } from 'vitest';
import { freshFolder, repository } from './run-example.ts';

export function run(command: string, args: readonly string[], cwd: string): string {
  const { status, stdout, stderr } = spawnSync(command, args, { cwd, encoding: 'utf8' });
  expect(`${stderr}${status === 0 ? '' : stdout}`, `${command} ${args.join(' ')}`).toBe('');
  return stdout;
}

/** A folder in which these packages are installed, beside the dependencies that they name and no others. */
export function folderWith(names: readonly ('psf' | 'centroid' | 'sim')[]): string {
  const folder = freshFolder();
  const modules = join(folder, 'node_modules');
  for (const name of names) {
    const source = join(repository, 'packages', name);
    const packed = freshFolder();
    run('npm', ['pack', '--silent', '--pack-destination', packed], source);
    const [tarball = 'none'] = readdirSync(packed);
    const installed = join(modules, '@holdfast', name);
    mkdirSync(installed, { recursive: true });
    run('tar', ['-xzf', join(packed, tarball), '-C', installed, '--strip-components=1'], folder);
    const { dependencies } = JSON.parse(readFileSync(join(installed, 'package.json'), 'utf8')) as {
      dependencies: Record<string, string>;
    };
    for (const dependency of Object.keys(dependencies)) {
      const place = join(modules, dependency);
      if (dependency.startsWith('@holdfast/') || existsSync(place)) continue;
      mkdirSync(dirname(place), { recursive: true });
      symlinkSync(join(source, 'node_modules', dependency), place, 'dir');
    }
  }
  writeFileSync(join(folder, 'package.json'), '{ "type": "module" }');
  return folder;
}
