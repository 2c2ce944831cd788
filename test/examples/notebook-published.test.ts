/** The published numbers in the notebook are those that the tests hold to, and the page meets them. */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { publishedChecks } from '../../examples/notebook/compute/published-checks.ts';
import { launchBrowser } from './browser.ts';
import { plain, withNotebook } from './notebook-page.ts';
import { repository } from './run-example.ts';

let browser: Browser;
beforeAll(async () => {
  browser = await launchBrowser();
});
afterAll(async () => {
  await browser?.close();
});

const folder = join(repository, 'test/published');
const tests = readdirSync(folder)
  .map((file) => readFileSync(join(folder, file), 'utf8'))
  .join('\n');

test.each(publishedChecks.map(({ what, value, tolerance, ours }) => ({ what, value, tolerance, ours })))(
  '$what',
  ({ value, tolerance, ours }) => {
    // Bare digits, as a test has them; a third stands there as 1 / 3.
    const digits = value === 1 / 3 ? '1 / 3' : String(value);
    expect(tests.replaceAll('_', '')).toMatch(new RegExp(`(?<![\\d.])${digits.replace('.', '\\.')}`));
    expect(Math.abs(ours() - value)).toBeLessThanOrEqual(tolerance);
  },
);

test('the page computes every one of them anew', () =>
  withNotebook(browser, async (page) => {
    const rows = page.locator('#published-checks tbody tr.row');
    await expect.poll(() => rows.count(), { timeout: 60_000 }).toBe(publishedChecks.length);
    for (const [i, { tolerance, ours }] of publishedChecks.entries()) {
      const here = plain(await rows.nth(i).locator('td[data-head=here]').textContent());
      expect(Math.abs(Number(here) - ours())).toBeLessThanOrEqual(tolerance);
    }
  }));
