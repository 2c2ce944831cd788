/**
 * What the packages bring along: each dependency is explained in DEVELOPERS.md, and its license allows every
 * use.
 */
import { existsSync, readdirSync, readFileSync, realpathSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';

const root = fileURLToPath(new URL('..', import.meta.url));
const developers = readFileSync(join(root, 'DEVELOPERS.md'), 'utf8');

interface PackageFile {
  readonly name: string;
  readonly license?: string;
  readonly dependencies?: Readonly<Record<string, string>>;
}

const packageFile = (folder: string): PackageFile =>
  JSON.parse(readFileSync(join(folder, 'package.json'), 'utf8')) as PackageFile;

/** Licenses that ask for no more than that they be named. */
const permissive = [
  'MIT',
  'ISC',
  'BSD-2-Clause',
  'BSD-3-Clause',
  'Apache-2.0',
  '0BSD',
  'CC0-1.0',
  'Unlicense',
];

/** Where Node would find a dependency from a folder. */
function findFrom(folder: string, name: string): string {
  for (let at = folder; ; at = dirname(at)) {
    const candidate = join(at, 'node_modules', name);
    if (existsSync(join(candidate, 'package.json'))) return realpathSync(candidate);
    if (at === dirname(at)) throw new Error(`${name} is not installed for ${folder}`);
  }
}

function withAllBelow(folder: string, seen = new Map<string, PackageFile>()): Map<string, PackageFile> {
  for (const name of Object.keys(packageFile(folder).dependencies ?? {})) {
    if (name.startsWith('@holdfast/')) continue;
    const found = findFrom(folder, name);
    if (seen.has(found)) continue;
    seen.set(found, packageFile(found));
    withAllBelow(found, seen);
  }
  return seen;
}

/** All source text of a package. */
const sourceText = (folder: string): string =>
  readdirSync(join(folder, 'src'), { recursive: true, encoding: 'utf8' })
    .filter((file) => file.endsWith('.ts'))
    .map((file) => readFileSync(join(folder, 'src', file), 'utf8'))
    .join('\n');

/** What is imported: at once, or when it is needed. */
const importOf = (name: string): RegExp => new RegExp(`(from |import\\()'${name}(/[^']*)?'`);

test.each(['psf', 'centroid', 'sim'])(
  '%s: every dependency is used, has its line, and a permissive license all the way down',
  (name) => {
    const folder = join(root, 'packages', name);
    const own = Object.keys(packageFile(folder).dependencies ?? {}).filter(
      (one) => !one.startsWith('@holdfast/'),
    );
    expect(own.length).toBeGreaterThan(0);
    expect(own.filter((one) => !developers.includes(`| \`${one}\``))).toEqual([]);
    const sources = sourceText(folder);
    expect(own.filter((one) => !one.startsWith('@types/') && !importOf(one).test(sources))).toEqual([]);
    const all = [...withAllBelow(folder).values()];
    expect(all.length).toBeGreaterThanOrEqual(own.length);
    const other = all.filter(({ license }) => !permissive.includes(license ?? 'none'));
    expect(other.map((one) => `${one.name}: ${one.license}`)).toEqual([]);
  },
);
