/**
 * One command for a release: `npm run release -- minor` (or patch, major, or a version). It sets the version
 * of all packages, dates the section of CHANGELOG.md, builds, and shows what each package would publish. It
 * publishes nothing and commits nothing.
 */
import { spawnSync } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';

const folders = ['.', 'packages/psf', 'packages/centroid', 'packages/sim'];

/** The version after this one. @throws RangeError for a step that is neither a part of a version nor one */
export function nextVersion(version: string, step: string): string {
  const [major = 0, minor = 0, patch = 0] = version.split('.').map(Number);
  if (step === 'major') return `${major + 1}.0.0`;
  if (step === 'minor') return `${major}.${minor + 1}.0`;
  if (step === 'patch') return `${major}.${minor}.${patch + 1}`;
  if (/^\d+\.\d+\.\d+$/.test(step)) return step;
  throw new RangeError(`step must be patch, minor, major or a version like 1.2.3, got ${step}`);
}

/** Writes the version into every file that holds it. @returns the new version */
export function setVersion(root: string, step: string, day: string): string {
  const packageFile = (folder: string) => join(root, folder, 'package.json');
  const current = (JSON.parse(readFileSync(packageFile('.'), 'utf8')) as { version: string }).version;
  const version = nextVersion(current, step);
  // What comes next is collected under its own heading; the first version bears its number already.
  const changelog = join(root, 'CHANGELOG.md');
  const changes = readFileSync(changelog, 'utf8');
  const heading = /^## (.*)$/m.exec(changes);
  if (heading === null || !heading[1]?.includes('unreleased'))
    throw new RangeError(
      `CHANGELOG.md must begin with a section "## unreleased" that says what is new, got ${heading?.[0]}`,
    );
  writeFileSync(changelog, changes.replace(heading[0], `## ${version} (${day})`));
  for (const folder of folders) {
    const text = readFileSync(packageFile(folder), 'utf8');
    writeFileSync(packageFile(folder), text.replace(`"version": "${current}"`, `"version": "${version}"`));
  }
  const inSource = join(root, 'packages/sim/src/version.ts');
  writeFileSync(inSource, readFileSync(inSource, 'utf8').replace(`'${current}'`, `'${version}'`));
  return version;
}

function run(root: string, folder: string, command: string, ...args: string[]): void {
  const { status } = spawnSync(command, args, {
    cwd: join(root, folder),
    stdio: 'inherit',
    shell: process.platform === 'win32',
  });
  if (status !== 0) throw new Error(`${command} ${args.join(' ')} in ${folder} ended with ${status}`);
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? '').href) {
  const root = fileURLToPath(new URL('..', import.meta.url));
  const version = setVersion(root, process.argv[2] ?? 'none', new Date().toISOString().slice(0, 10));
  run(root, '.', 'npm', 'run', '--silent', 'build:library');
  // pnpm writes the versions of the sister packages for `workspace:*`.
  for (const folder of folders.slice(1))
    run(
      root,
      folder,
      'npx',
      '--yes',
      'pnpm@10.34.9',
      'publish',
      '--dry-run',
      '--no-git-checks',
      '--access',
      'public',
    );
  console.log(
    `${version} is set and was published nowhere. Commit it, tag it v${version}; undo: git restore .`,
  );
}
