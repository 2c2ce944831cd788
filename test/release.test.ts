/** The version of a release, in every file that holds it. */
import { cpSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';
import { nextVersion, setVersion } from '../packages/release.ts';

const repository = fileURLToPath(new URL('..', import.meta.url));
const files = [
  ...['package.json', 'packages/psf/package.json', 'packages/centroid/package.json'],
  ...['packages/sim/package.json', 'packages/sim/src/version.ts', 'CHANGELOG.md'],
];
const versionsIn = (root: string) =>
  files.map((file) => /\d+\.\d+\.\d+/.exec(readFileSync(join(root, file), 'utf8'))?.[0]);

test('one version stands in every file, and the next one is set in all of them', () => {
  const [version] = versionsIn(repository);
  expect(new Set(versionsIn(repository))).toEqual(new Set([version]));
  // A release must not change what the packages promise.
  expect(readFileSync(join(repository, 'test/public-surface.txt'), 'utf8')).not.toContain(`"${version}"`);
  const folder = mkdtempSync(join(tmpdir(), 'holdfast-release-'));
  try {
    for (const file of files) {
      mkdirSync(join(folder, dirname(file)), { recursive: true });
      cpSync(join(repository, file), join(folder, file));
    }
    const next = setVersion(folder, 'minor', '2030-01-02');
    expect(next).toBe(nextVersion(version as string, 'minor'));
    expect(versionsIn(folder)).toEqual(files.map(() => next));
    expect(readFileSync(join(folder, 'CHANGELOG.md'), 'utf8')).toContain(`## ${next} (2030-01-02)`);
    // What is new must be written down before it can be released.
    expect(() => setVersion(folder, 'patch', '2030-01-03')).toThrow(/CHANGELOG.md must begin/);
    writeFileSync(join(folder, 'CHANGELOG.md'), '# Changelog\n\n## unreleased\n\n- A new thing.\n');
    expect(setVersion(folder, 'patch', '2030-01-03')).toBe(nextVersion(next, 'patch'));
  } finally {
    rmSync(folder, { recursive: true });
  }
});

test('steps of versions', () => {
  expect(['patch', 'minor', 'major', '2.0.0'].map((step) => nextVersion('1.2.3', step))).toEqual([
    '1.2.4',
    '1.3.0',
    '2.0.0',
    '2.0.0',
  ]);
  expect(() => nextVersion('1.2.3', 'big')).toThrow(/step must be patch, minor, major/);
});
