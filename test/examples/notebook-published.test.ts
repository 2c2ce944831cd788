/** The published numbers in the notebook are those of the tests, and the page meets every one. */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { depthOfFocusUm, glassIndex } from '@holdfast/psf';
import { loopNoiseFactor } from '@holdfast/sim';
import { beforeAll, expect, test, vi } from 'vitest';
import { keepInView, withNotebook } from './notebook-page.ts';
import { repository } from './run-example.ts';
import { bytesOf, patienceMs } from './shared-browser.ts';

let rows: Record<string, string>[];
let told: string;
let subjects: readonly string[];
let complaints: readonly string[];

beforeAll(async () => {
  complaints = await withNotebook(async (page) => {
    const answer = page.locator('section[aria-labelledby=published-numbers] .answer');
    const read = async () => {
      await keepInView(page, 'how-we-know');
      return (await answer.textContent()) ?? '';
    };
    await vi.waitUntil(async () => (await read()).includes('published numbers'), patienceMs);
    told = await read();
    subjects = await page.locator('#published-checks summary').allTextContents();
    const [download] = await Promise.all([
      page.waitForEvent('download'),
      page.getByRole('button', { name: /save all as CSV/ }).click(),
    ]);
    rows = recordsOf((await bytesOf(download)).toString('utf8'));
  });
});

/** RFC 4180: quotes around what holds commas, doubled within. */
function recordsOf(csv: string): Record<string, string>[] {
  const [head, ...lines] = csv
    .trim()
    .split('\r\n')
    .map((line) =>
      [...line.matchAll(/("(?:[^"]|"")*"|[^,]*)(?:,|$)/g)]
        .map(([, cell]) => cell.replace(/^"(.*)"$/s, '$1').replaceAll('""', '"'))
        .slice(0, -1),
    );
  return lines.map((line) => Object.fromEntries(head.map((name, i) => [name, line[i] ?? ''])));
}

const folder = join(repository, 'test/published');
const files = readdirSync(folder).filter((file) => file.endsWith('.test.ts'));
const textOf = (file: string): string => readFileSync(join(folder, file), 'utf8');

test('each subject is named by words, not by the kind of its test file', () => {
  expect(subjects.length).toBeGreaterThan(20);
  expect(subjects.filter((subject) => /slow|test|\.ts/.test(subject))).toEqual([]);
});

test('no test file that checks single numbers is left out', () => {
  expect(complaints).toEqual([]);
  const withNumbers = files.filter((file) => textOf(file).includes('checkPublished('));
  expect(withNumbers.length).toBeGreaterThan(20);
  expect([...new Set(rows.map(({ file }) => file))].sort()).toEqual(withNumbers.sort());
  // At least as many numbers as calls, for many stand in loops.
  for (const file of withNumbers) {
    const calls = textOf(file).match(/\bcheckPublished\(/g)?.length ?? 0;
    expect(rows.filter((row) => row['file'] === file).length, file).toBeGreaterThanOrEqual(calls);
  }
});

test('each is met within what is allowed, and names its source and the reason for what is allowed', () => {
  for (const { what, published, here, difference, allowed, source, why } of rows) {
    expect(Number(here) - Number(published), what).toBe(Number(difference));
    expect(Math.abs(Number(difference)), what).toBeLessThanOrEqual(Number(allowed));
    // Whole numbers, as of bytes, are allowed nothing.
    expect(Number(allowed), what).toBeGreaterThanOrEqual(0);
    expect(source.length, what).toBeGreaterThan(5);
    expect(why.length, what).toBeGreaterThan(5);
  }
  expect(told).toContain(`The page meets all ${rows.length} published numbers below`);
});

test('what the page computed is what the library computes here', () => {
  const here = (file: string, published: number): number =>
    Number(rows.find((row) => row['file'] === file && Number(row['published']) === published)?.['here']);
  expect(here('defocus.test.ts', 2.3119)).toBeCloseTo(
    depthOfFocusUm({ criterion: 'strehl-0.8', fNumber: 1, wavelengthNm: 1000, obstructionRatio: 0.33 }),
    12,
  );
  expect(here('glass.test.ts', 1.5168)).toBeCloseTo(glassIndex('N-BK7', 587.5618), 12);
  expect(here('control-loop.test.ts', 1 / 3)).toBeCloseTo(loopNoiseFactor(0.5) ** 2, 12);
});
