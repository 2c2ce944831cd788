/** On Windows a file's URL begins with a drive: its `pathname` is no path there; `fileURLToPath` gives it. */
import { readdirSync, readFileSync } from 'node:fs';
import { join, win32 } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';

const root = fileURLToPath(new URL('..', import.meta.url));
const sources = ['packages', 'examples']
  .flatMap((folder) =>
    readdirSync(join(root, folder), { recursive: true, encoding: 'utf8' }).map((name) => join(folder, name)),
  )
  .filter((name) => /\.(ts|mjs)$/.test(name) && !/node_modules|[\\/]dist[\\/]/.test(name));

test('a path from a URL has one drive and no slash before it', () => {
  const url = new URL('file:///C:/my%20programs/cell-worker.js');
  const path = (fileURLToPath as (url: URL, options: { windows: boolean }) => string)(url, { windows: true });
  expect(path).toBe('C:\\my programs\\cell-worker.js');
  expect(win32.resolve(path)).toBe(path);
  // What the wrong way gives.
  expect(win32.resolve('D:\\', url.pathname)).not.toBe(path);
});

test('no program takes the pathname of a URL for a path', () => {
  expect(sources.length).toBeGreaterThan(300);
  const wrong = sources.filter((name) => /\.pathname\b/.test(readFileSync(join(root, name), 'utf8')));
  expect(wrong).toEqual([]);
});

test('what starts the program needs no shell of Unix', () => {
  const { scripts } = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8')) as {
    scripts: Record<string, string>;
  };
  expect(scripts['start']).toMatch(/^node \S+$/);
  const parts = Object.entries(scripts).filter(([, text]) => text.startsWith('node examples/holdfast.mjs'));
  expect(parts.length).toBeGreaterThan(10);
  const starting = ['examples/holdfast.mjs', 'examples/build/make-ready.mjs'];
  for (const file of starting) expect(readFileSync(join(root, file), 'utf8')).not.toMatch(/'(ba)?sh'|\.sh\b/);
});
