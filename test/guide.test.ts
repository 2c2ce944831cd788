/** Guide and READMEs: their programs run, their links lead somewhere, and no failure reason is missing. */
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { afterAll, describe, expect, test, vi } from 'vitest';

const root = fileURLToPath(new URL('..', import.meta.url));
const pages = readdirSync(join(root, 'docs')).filter((name) => name.endsWith('.md'));
const textOf = (page: string) => readFileSync(join(root, 'docs', page), 'utf8');

/** What the programs of the READMEs take as given. */
const given = `
import { exposeFrame as exposed, defaultCamera as camera, randomStream as seeded, renderStar as drawn } from '@holdfast/psf';
import { smallRig as rigOf } from './../sim/small-rig.ts';
const shape = { kind: 'gaussian', fwhmPx: 3 } as const;
const image = exposed(drawn(shape, { width: 41, height: 37, x: 20.3, y: 18.2, flux: 9000 }), camera, seeded(1));
const frame = exposed(drawn(shape, { width: 640, height: 480, x: 301, y: 222, flux: 9000 }), camera, seeded(2));
const rigText = JSON.stringify(rigOf());
`;
const readmes = ['README.md', ...['psf', 'centroid', 'sim'].map((name) => `packages/${name}/README.md`)];

describe('the programs of guide and READMEs run', () => {
  // Beside the tests, where the packages are found.
  const folder = mkdtempSync(join(root, 'test/guide-'));
  // Where the program of many machines writes its rows.
  vi.stubEnv('OUT', join(folder, 'part.jsonl'));
  afterAll(() => {
    vi.unstubAllEnvs();
    rmSync(folder, { recursive: true });
  });
  const programsOf = (name: string, text: string, before: string) =>
    [...text.matchAll(/```ts\n(.*?)```/gs)].map(([, code], i) => ({
      name: `${name} ${i + 1}`,
      code: before + code,
    }));
  const programs = [
    ...pages.flatMap((page) => programsOf(page, textOf(page), '')),
    ...readmes.flatMap((file) =>
      // That of psf makes all that it needs.
      programsOf(file, readFileSync(join(root, file), 'utf8'), file.includes('/psf/') ? '' : given),
    ),
  ];
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
