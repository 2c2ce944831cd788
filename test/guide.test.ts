/** The guide in `docs`: its programs run, its links lead somewhere, and no failure reason is missing. */
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { afterAll, describe, expect, test, vi } from 'vitest';

const root = fileURLToPath(new URL('..', import.meta.url));
const pages = readdirSync(join(root, 'docs')).filter((name) => name.endsWith('.md'));
const textOf = (page: string) => readFileSync(join(root, 'docs', page), 'utf8');

describe('the programs of the guide run', () => {
  // Beside the tests, where the packages are found.
  const folder = mkdtempSync(join(root, 'test/guide-'));
  // Where the program of many machines writes its rows.
  vi.stubEnv('OUT', join(folder, 'part.jsonl'));
  afterAll(() => {
    vi.unstubAllEnvs();
    rmSync(folder, { recursive: true });
  });
  const programs = pages.flatMap((page) =>
    [...textOf(page).matchAll(/```ts\n(.*?)```/gs)].map(([, code], i) => ({
      name: `${page} ${i + 1}`,
      code,
    })),
  );
  test.each(programs)('$name', async ({ name, code }) => {
    const file = join(folder, `${name.replaceAll(/\W/g, '-')}.ts`);
    writeFileSync(file, code);
    const log = vi.spyOn(console, 'log').mockImplementation(() => {});
    try {
      await import(/* @vite-ignore */ pathToFileURL(file).href);
      expect(log).toHaveBeenCalled();
      expect(JSON.stringify(log.mock.calls)).not.toMatch(/null|undefined|NaN/);
    } finally {
      log.mockRestore();
    }
  });
});

test('every page says its title where the site reads it', () => {
  for (const page of pages) expect(textOf(page), page).toMatch(/^---\ntitle: (.+)\n---\n\n# /);
});

test('every page links to pages that exist, and is reached from another', () => {
  const links = pages.flatMap((page) =>
    [...textOf(page).matchAll(/\]\(([\w-]+\.md)\)/g)].map(([, to]) => to),
  );
  expect(links.filter((to) => !pages.includes(to))).toEqual([]);
  expect(pages.filter((page) => page !== 'start.md' && !links.includes(page))).toEqual([]);
});

test('the page of errors has every failure reason, and no other', () => {
  const sources = ['psf', 'centroid', 'sim'].flatMap((name) =>
    readdirSync(join(root, 'packages', name, 'src'), { recursive: true, encoding: 'utf8' })
      .filter((file) => file.endsWith('.ts'))
      .map((file) => readFileSync(join(root, 'packages', name, 'src', file), 'utf8')),
  );
  const reasons = new Set<string>();
  for (const source of sources) {
    for (const [, reason] of source.matchAll(/\breason[:=] '([a-z]+(?:-[a-z]+)*)'/g)) reasons.add(reason);
    for (const [, union] of source.matchAll(
      /(?:Reason =|readonly reason:)((?:\s|\/\*\*.*?\*\/|\||'[^']*'|\w+)*);/gs,
    ))
      for (const [, reason] of union.replaceAll(/\/\*\*.*?\*\//gs, '').matchAll(/'([\w-]+)'/g))
        reasons.add(reason);
  }
  const table = textOf('errors.md')
    .split('\n')
    .filter((line) => line.startsWith('| `'));
  const told = table.flatMap((line) =>
    [...line.split('|')[1].matchAll(/`([^`]+)`/g)].map(([, reason]) => reason),
  );
  expect(reasons.size).toBeGreaterThan(30);
  expect([...reasons].filter((reason) => !told.includes(reason))).toEqual([]);
  expect(told.filter((reason) => !reasons.has(reason))).toEqual([]);
});
