/**
 * The front door of each package: small enough for one head, and each type on it needed by something on it.
 */
import { expect, test } from 'vitest';
import { entries, exportsOf, promised, typesNeeded, undocumented } from './public-surface.ts';

test.each([
  ['@holdfast/psf', 60],
  ['@holdfast/centroid', 35],
  ['@holdfast/sim', 60],
] as const)('%s exports at most %d values', (name, most) => {
  const values = exportsOf(entries[name]).filter(({ isValue }) => isValue);
  expect(values.length).toBeGreaterThan(10);
  expect(values.length).toBeLessThanOrEqual(most);
});

test.each(Object.entries(entries))('%s exports no type that none of its values speaks of', (_, entry) => {
  const exports = exportsOf(entry);
  const needed = typesNeeded(exports.filter(({ isValue }) => isValue));
  const idle = exports.filter(({ isValue, symbol }) => !isValue && !needed.has(symbol));
  expect(idle.map(({ name }) => name)).toEqual([]);
});

test('a name that two packages export has one meaning: the parts of its type are the same', () => {
  const [psf, centroid, sim] = (['@holdfast/psf', '@holdfast/centroid', '@holdfast/sim'] as const).map(
    (name) => new Map(exportsOf(entries[name]).map((one) => [one.name, one])),
  );
  const shared = [...psf.keys(), ...centroid.keys()].filter(
    (name) => sim.has(name) || (psf.has(name) && centroid.has(name)),
  );
  // Declared twice, since the declarations of centroid must stand without psf. What psf writes, centroid
  // reads; it also reads images of other numbers.
  expect([...new Set(shared)].sort()).toEqual(['Image', 'ImageSize']);
  expect(meaning(centroid.get('ImageSize'))).toBe(meaning(psf.get('ImageSize')));
});

/** The declaration without its comments. */
function meaning(one: ReturnType<typeof exportsOf>[number] | undefined): string | undefined {
  return one?.symbol.declarations?.[0]
    .getText()
    .replace(/\/\*[\s\S]*?\*\//g, '')
    .replace(/\s+/g, ' ');
}

test('every public type and each of its members is explained where it is declared', () => {
  const bare = Object.values(entries).flatMap((entry) => undocumented(exportsOf(entry)));
  expect(bare.map(({ name, node }) => `${node.getSourceFile().fileName.split('/src/')[1]}: ${name}`)).toEqual(
    [],
  );
});

test('the search for what is not explained finds what is not', () => {
  // What has no promise of stability needs no comment on each member.
  expect(undocumented(exportsOf('packages/psf/src/numerics/index.ts')).length).toBeGreaterThan(0);
});

test('what the packages promise is what the report says', async () => {
  const report = Object.entries(entries).map(([name, entry]) =>
    [`# ${name}`, ...promised(entry), ''].join('\n'),
  );
  // Changed on purpose: run this file with -u, and say in CHANGELOG.md what is new, deprecated or gone.
  await expect(report.join('\n')).toMatchFileSnapshot('public-surface.txt');
});
