/** The front door of each package: small enough for one head, and each type on it needed by something on it. */
import { expect, test } from 'vitest';
import { entries, exportsOf, typesNeeded, undocumented } from './public-surface.ts';

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
  // The image and its size are declared twice, since the declarations of centroid must stand without psf.
  expect([...new Set(shared)].sort()).toEqual(['Image', 'ImageSize']);
  for (const name of ['Image', 'ImageSize'])
    expect(meaning(centroid.get(name)), name).toBe(meaning(psf.get(name)));
});

/** The declaration without its comments. */
function meaning(one: ReturnType<typeof exportsOf>[number] | undefined): string | undefined {
  return one?.symbol.declarations?.[0]
    .getText()
    .replace(/\/\*[\s\S]*?\*\//g, '')
    .replace(/\s+/g, ' ');
}

/** Rooms of sim whose members are not all explained yet, and how many are left. The numbers may only fall. */
const leftToExplain: Readonly<Record<string, number>> = {
  advice: 40,
  budget: 5,
  focus: 26,
  tracking: 31,
  trials: 28,
};

test('every public type and each of its members is explained where it is declared', () => {
  const bare = Object.values(entries).flatMap((entry) => undocumented(exportsOf(entry)));
  const names = new Map<string, string[]>();
  for (const { name, node } of bare) {
    const [, path] = node.getSourceFile().fileName.split('/src/');
    const room = path.split('/')[0];
    names.set(room, [...(names.get(room) ?? []), `${path}: ${name}`]);
  }
  for (const [room, list] of names)
    expect(list.length, list.join('\n')).toBeLessThanOrEqual(leftToExplain[room] ?? 0);
});
