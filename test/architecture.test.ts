/** The rules of the house that no compiler checks: who may import whom, and how large a file may grow. */
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { basename, dirname, join, normalize, relative } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, test } from 'vitest';
import { targets } from './mutation/targets.ts';

const root = fileURLToPath(new URL('..', import.meta.url));

interface Source {
  readonly path: string;
  readonly text: string;
  readonly imports: readonly string[];
}

const sourcesIn = (folder: string): Source[] =>
  readdirSync(join(root, folder), { recursive: true, encoding: 'utf8' })
    .filter((name) => name.endsWith('.ts') && !/(^|\/)(dist|node_modules)\//.test(name))
    .map((name) => {
      const path = join(folder, name);
      const text = readFileSync(join(root, path), 'utf8');
      const imports = [
        ...text.matchAll(
          /^\s*(?:import|export)\b[^;]*?from\s+'([^']+)'|^\s*import\s+'([^']+)'|\bimport\('([^']+)'\)/gms,
        ),
      ].map((match) => match[1] ?? match[2] ?? match[3]);
      return { path: relative('.', path), text, imports };
    });

const psf = sourcesIn('packages/psf/src');
const centroid = sourcesIn('packages/centroid/src');
const sim = sourcesIn('packages/sim/src');
const library = [...psf, ...centroid, ...sim];
const examples = sourcesIn('examples');

const importers = (sources: readonly Source[], what: RegExp): string[] =>
  sources.filter(({ imports }) => imports.some((name) => what.test(name))).map(({ path }) => path);

test('the sources are found', () => {
  for (const sources of [psf, centroid, sim, examples]) expect(sources.length).toBeGreaterThan(5);
  expect(importers(sim, /^@holdfast\/psf$/).length).toBeGreaterThan(0);
});

describe('one way, left to right', () => {
  test('psf imports neither centroid nor sim', () => {
    expect(importers(psf, /^@holdfast\//)).toEqual([]);
  });
  test('centroid imports of its sisters the mathematics of psf alone', () => {
    expect(importers(centroid, /^@holdfast\/(?!psf\/numerics$)/)).toEqual([]);
  });
  test('the library imports no example and no test', () => {
    expect(importers(library, /examples|\/test\//)).toEqual([]);
  });
  test('no package reaches into the sources of another', () => {
    expect(importers([...library, ...examples], /packages\/|@holdfast\/\w+\/(src|dist)/)).toEqual([]);
  });
});

/** The files of the project that a file imports, types included. */
const importedFiles = ({ path, imports }: Source): string[] =>
  imports.filter((name) => name.startsWith('.')).map((name) => normalize(join(dirname(path), name)));

/** The first circle that a walk along the imports finds, as the paths on it; undefined when there is none. */
function findCircle(sources: readonly Source[]): string[] | undefined {
  const byPath = new Map(sources.map((source) => [source.path, source]));
  const done = new Set<string>();
  const walk = (path: string, way: readonly string[]): string[] | undefined => {
    if (way.includes(path)) return [...way.slice(way.indexOf(path)), path];
    const source = byPath.get(path);
    if (source === undefined || done.has(path)) return undefined;
    for (const next of importedFiles(source)) {
      const circle = walk(next, [...way, path]);
      if (circle !== undefined) return circle;
    }
    done.add(path);
    return undefined;
  };
  for (const { path } of sources) {
    const circle = walk(path, []);
    if (circle !== undefined) return circle;
  }
  return undefined;
}

describe('no circles, types included', () => {
  const folders = { psf, centroid, sim, examples };
  test.each(Object.entries(folders))('%s', (_, sources) => {
    expect(sources.some((source) => importedFiles(source).length > 0)).toBe(true);
    expect(findCircle(sources)).toBeUndefined();
  });
  test('the finder finds one', () => {
    const file = (path: string, ...imports: string[]) => ({ path, text: '', imports });
    expect(findCircle([file('a.ts', './b.ts'), file('b.ts', './c.ts'), file('c.ts', './b.ts')])).toEqual([
      'b.ts',
      'c.ts',
      'b.ts',
    ]);
  });
});

/** Rooms from the ground up: a room may import from its own line and from those above it in this list. */
const floors: Readonly<Record<string, readonly (readonly string[])[]>> = {
  psf: [
    ['numerics', 'kernel'],
    ['chance', 'light'],
    ['image', 'shapes', 'optics', 'waves', 'diffraction', 'air'],
    ['camera'],
  ],
  centroid: [['pixels'], ['moments', 'gaussian', 'symmetry', 'search'], ['template'], ['error', 'guide']],
  sim: [
    ['rig', 'pickoff', 'trials'],
    ['budget', 'frame'],
    ['focus', 'odds', 'sweep'],
    ['tracking'],
    ['advice'],
  ],
};

test.each(Object.entries({ psf, centroid, sim }))('the rooms of %s stand in order', (name, sources) => {
  const src = `packages/${name}/src`;
  const roomOf = (path: string) => relative(src, path).split('/')[0];
  const floorOf = (path: string) => floors[name].findIndex((rooms) => rooms.includes(roomOf(path)));
  const upward = sources.flatMap((source) =>
    importedFiles(source)
      .filter((target) => floorOf(source.path) >= 0 && floorOf(target) > floorOf(source.path))
      .map((target) => `${source.path} -> ${target}`),
  );
  expect(upward).toEqual([]);
  for (const room of floors[name].flat())
    expect(
      sources.some(({ path }) => roomOf(path) === room),
      `${room} is a room`,
    ).toBe(true);
});

describe('one door for each dependency', () => {
  test('only random.ts imports seedrandom', () => {
    expect(importers(library, /^seedrandom/)).toEqual(['packages/psf/src/chance/random.ts']);
  });
  test('one file imports fft.js', () => {
    expect(importers(library, /^fft\.js/)).toEqual(['packages/psf/src/numerics/fourier/fourier.ts']);
  });
  test('nobody draws from Math.random', () => {
    expect(
      [...library, ...examples].filter(({ text }) => text.includes('Math.random')).map(({ path }) => path),
    ).toEqual([]);
  });
  // Engines differ in the last bits of these. The files named only choose a unit, a size or an order by them.
  test("no result depends on an engine's own functions", () => {
    const free = [
      'packages/centroid/src/template/template-search.ts',
      'packages/sim/src/frame/sequence/match-stars.ts',
      'packages/sim/src/frame/stars/coma-measure.ts',
      'packages/sim/src/frame/stars/frame-rig.ts',
      'packages/sim/src/number-text.ts',
      'packages/sim/src/rig/start-rig.ts',
      'packages/sim/src/trials/scene.ts',
    ];
    const own = /Math\.(?!abs|ceil|floor|fround|imul|max|min|round|sign|sqrt|trunc|clz32)[a-z]\w*\(/;
    const users = library.filter(({ text }) => own.test(text.replace(/\/\*[\s\S]*?\*\//g, '')));
    expect(users.map(({ path }) => path).sort()).toEqual(free);
  });
  test('the library runs in a browser: nothing of Node in it', () => {
    expect(importers(library, /^node:/)).toEqual([]);
  });
});

test('the formulas that mutation proves, and their tests, are where its list says', () => {
  const paths = targets.flatMap(({ file, tests }) => [file, ...tests]);
  expect(paths.length).toBeGreaterThan(10);
  expect(paths.filter((path) => !existsSync(join(root, path)))).toEqual([]);
});

describe('one concept a file', () => {
  test('no source file is longer than 400 lines', () => {
    const long = [...library, ...examples]
      .map(({ path, text }) => ({ path, lines: text.split('\n').length }))
      .filter(({ lines }) => lines > 400);
    expect(long).toEqual([]);
  });
  test('no file is named for nothing', () => {
    const vague = /^(utils?|helpers?|misc|common|shared|lib|types)\.ts$/;
    expect(
      [...library, ...examples].filter(({ path }) => vague.test(basename(path))).map(({ path }) => path),
    ).toEqual([]);
  });
  test('each index only re-exports, opens with a map, and the map names every file', () => {
    const indexes = library.map(({ path }) => path).filter((path) => basename(path) === 'index.ts');
    expect(indexes.length).toBeGreaterThan(3);
    for (const path of indexes) {
      const index = readFileSync(join(root, path), 'utf8');
      expect(index.startsWith('/**'), `${path} opens with its map`).toBe(true);
      const code = index
        .replace(/\/\*[\s\S]*?\*\//g, '')
        .replace(/export\s+(type\s+)?(\{[^}]*\}|\*)\s+from\s+'[^']+';/g, '');
      expect(code.trim(), `${path} only re-exports`).toBe('');
      const map = index.slice(0, index.indexOf('*/'));
      const missing = readdirSync(join(root, dirname(path)), { withFileTypes: true })
        .map((entry) => (entry.isDirectory() ? `${entry.name}/` : entry.name.replace(/\.ts$/, '')))
        .filter(
          (name) => name !== 'index' && !new RegExp(`^ \\*\\s+([\\w-]+, )*${name}(,|\\s|$)`, 'm').test(map),
        );
      expect(missing, `files that the map of ${path} leaves out`).toEqual([]);
    }
  });
});
