/**
 * What a stranger does first, with the programs of the guide as they stand there, in a folder outside of the
 * repository that holds the installed packages alone.
 */
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import ts from 'typescript';
import { build, preview } from 'vite';
import { expect, test, vi } from 'vitest';
import { repository } from './run-example.ts';
import { patienceMs, sharedBrowser } from './shared-browser.ts';
import { folderWith, run } from './unpacked.ts';

const folder = folderWith(['psf', 'centroid', 'sim']);

/** What the first program under a heading of the guide prints. */
function printed(page: string, heading: string, env: Readonly<Record<string, string>> = {}): string {
  const text = readFileSync(join(repository, 'docs', page), 'utf8');
  const [, code = ''] = /```ts\n(.*?)```/s.exec(text.slice(text.indexOf(`# ${heading}\n`))) ?? [];
  expect(code.length).toBeGreaterThan(100);
  const { outputText } = ts.transpileModule(code, {
    compilerOptions: { module: ts.ModuleKind.ESNext, target: ts.ScriptTarget.ES2022 },
  });
  writeFileSync(join(folder, 'try.js'), outputText);
  return run(
    'env',
    [...Object.entries(env).map(([name, value]) => `${name}=${value}`), process.execPath, 'try.js'],
    folder,
  );
}

test('measure a star in an own array', () => {
  expect(printed('start.md', 'Measure a star in your own array')).toBe('12 10\n');
});

test('simulate an own telescope', () => {
  expect(printed('start.md', 'Simulate your telescope')).toMatch(/value: 0\.\d+, standardError: 0\.\d+/);
  expect(printed('your-telescope.md', 'Your own telescope design')).toMatch(/^\d+\.\d+ \d+\.\d+\n$/);
});

test('predict an error', () => {
  expect(printed('start.md', 'Predict an error without a simulation')).toMatch(/^0\.\d+ 0\.\d+\n$/);
});

test('compare an own estimator, and check its promises', () => {
  const lines = printed('your-estimator.md', 'Your own estimator').trim().split('\n');
  expect(lines.map((line) => line.split(' ')[0])).toEqual([
    'parabola',
    'gaussianFit',
    'thresholdedCenterOfMass',
  ]);
  expect(printed('your-estimator.md', 'Does it keep the promises?')).toMatch(/^(kept: .+\n){10,}$/);
});

/** Save the files that stand under a heading of the guide, each named in its first line. */
function save(page: string, heading: string): void {
  const text = readFileSync(join(repository, 'docs', page), 'utf8');
  const section = text.slice(text.indexOf(`# ${heading}\n`));
  const [first, second] = [...section.matchAll(/```js\n(\/\/ ([\w.-]+\.js).*?)```/gs)];
  for (const [, code, name] of [first, second]) writeFileSync(join(folder, name), code);
}

test('sweep an own estimator on workers', () => {
  save('your-estimator.md', 'On workers');
  const lines = run(process.execPath, ['main.js'], folder).trim().split('\n');
  expect(lines.sort().map((line) => line.split(' ').slice(0, 2))).toEqual([
    ['brightest', '20'],
    ['brightest', '60'],
  ]);
});

test("sweep in a browser's workers", async () => {
  save('machines.md', 'In a browser');
  writeFileSync(
    join(folder, 'index.html'),
    '<link rel="icon" href="data:," /><script type="module" src="/main.js"></script>',
  );
  const vite = { root: folder, configFile: false, logLevel: 'error' } as const;
  await build(vite);
  const server = await preview({ ...vite, preview: { host: '127.0.0.1', port: 0 } });
  const browser = await sharedBrowser();
  try {
    const page = await browser.newPage();
    const lines: string[] = [];
    page.on('console', (message) => lines.push(message.text()));
    page.on('pageerror', ({ message }) => lines.push(message));
    await page.goto(server.resolvedUrls?.local[0] as string);
    await vi.waitUntil(() => lines.length >= 2, { timeout: patienceMs });
    expect(lines.sort()).toEqual([
      expect.stringMatching(/^20 0\.\d+$/),
      expect.stringMatching(/^60 0\.\d+$/),
    ]);
  } finally {
    await browser.close();
    await server.close();
  }
});

test('run a sweep in parts, as an array of jobs does', () => {
  const part = (index: number, of: number) =>
    printed('machines.md', 'From a program of your own', {
      SLURM_ARRAY_TASK_ID: String(index),
      SLURM_ARRAY_TASK_COUNT: String(of),
      OUT: `${of}-${index}.jsonl`,
    });
  expect(part(1, 1)).toBe('16 rows to 1-1.jsonl\n');
  expect([part(1, 2), part(2, 2)]).toEqual(['8 rows to 2-1.jsonl\n', '8 rows to 2-2.jsonl\n']);
  const text = (file: string) => readFileSync(join(folder, file), 'utf8');
  expect(text('2-1.jsonl') + text('2-2.jsonl')).toBe(text('1-1.jsonl'));
});
