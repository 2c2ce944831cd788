/**
 * What a stranger does first, with the programs of the guide as they stand there, in a folder outside of the
 * repository that holds the installed packages alone. The sweep in a browser's worker: browser-sweep.test.ts.
 */
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import ts from 'typescript';
import { expect, test } from 'vitest';
import { repository } from './run-example.ts';
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
