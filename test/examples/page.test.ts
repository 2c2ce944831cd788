/** The page as a reader opens it: built, filled with a real report, from the disk, in a browser. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { gzipSync } from 'node:zlib';
import { parseRig } from '@holdfast/sim';
import { significant, withError } from '@holdfast/sim/internal';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { fillPage } from '../../examples/dist/build/notebook-page.js';
import { errorCurveFigure } from '../../examples/dist/figures/error-curve.js';
import { figureDocument, svgFileText } from '../../examples/dist/figures/figure-document.js';
import { growthFigure } from '../../examples/dist/figures/growth.js';
import { decisionText } from '../../examples/dist/figures/number-words.js';
import { starStripFigure } from '../../examples/dist/figures/star-strip.js';
import { makeReport } from '../../examples/dist/reports/make-report.js';
import type { Report } from '../../examples/dist/reports/report.js';
import { plainText } from './plain-rig.ts';
import { bytesOf, patienceMs, sharedBrowser } from './shared-browser.ts';

const root = new URL('../../', import.meta.url);
const template = readFileSync(new URL('examples/dist/notebook/index.html', root), 'utf8');
const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

/** Would run a script, were it ever read as markup, and end the element that holds the report. */
const hostile = '</script><img src=x onerror=alert(1)>';

let folder: string;
let address: string;
let report: Report;
let browser: Browser;
/** One page for all tests here: opened once, then looked at in every size and color. */
let page: Page;
const asked: string[] = [];
const complaints: string[] = [];

beforeAll(async () => {
  browser = await sharedBrowser();
  const rig = parseRig(plainText('fast-reflector'));
  // So faint that rings of 12 and 28 px need a trim and a refocus: a wider one takes five times as long.
  const guideStar = { ...rig.guideStar, magnitude: 15.2 };
  const filters = rig.filters
    .slice(0, 6)
    .map((filter, i) => (i === 2 ? { ...filter, name: hostile } : filter));
  report = await makeReport(
    { ...rig, name: `${hostile} & co`, guideStar, filters },
    { seed: 'page', trials: 64 },
  );
  folder = mkdtempSync(join(tmpdir(), 'holdfast-page-'));
  const file = join(folder, 'holdfast.html');
  writeFileSync(file, fillPage(template, report));
  address = pathToFileURL(file).href;
  const context = await browser.newContext(wide);
  context.setDefaultTimeout(patienceMs);
  page = await context.newPage();
  page.on('request', (request) => asked.push(request.url()));
  page.on('console', (message) => {
    if (message.type() === 'error' || message.type() === 'warning') complaints.push(message.text());
  });
  page.on('pageerror', (error) => complaints.push(error.message));
  page.on('dialog', (dialog) => {
    complaints.push(`dialog: ${dialog.message()}`);
    void dialog.dismiss();
  });
  await page.goto(address);
  // As for print every figure is drawn, looked at or not; the last of the three figures of the report:
  await page.evaluate(() => dispatchEvent(new Event('beforeprint')));
  await page.locator(`${chapter} figure svg[role=img]`).nth(2).waitFor();
});

afterAll(async () => {
  await browser?.close();
  if (folder) rmSync(folder, { recursive: true });
});

/** The chapter that shows the report. */
const chapter = 'article[aria-labelledby=should-i-refocus]';

const wide = { viewport: { width: 1200, height: 900 } };

/** Every folded part unfolded. */
const openAll = (page: Page): Promise<void> =>
  page.evaluate(() => {
    for (const details of document.querySelectorAll('details')) details.open = true;
  });

/** Numbers as a report has them: the page prints true minus signs and spaces that do not break. */
const plain = (text: string): string => text.replaceAll('\u00a0', ' ').replaceAll('−', '-').trim();

describe('from the disk', () => {
  test('asks nothing of any network and complains of nothing, and draws its figures to the width', async () => {
    await openAll(page);
    const drawnWidth = () => page.locator('figure svg[role=img]').first().getAttribute('width');
    await page.setViewportSize({ width: 360, height: 800 });
    await expect.poll(drawnWidth).toMatch(/^3\d\d$/);
    await page.setViewportSize(wide.viewport);
    await expect.poll(drawnWidth).toMatch(/^[5-9]\d\d$/);
    expect(asked[0]).toBe(address);
    expect(asked.filter((url) => !/^(file|data|blob):/.test(url))).toEqual([]);
    expect(complaints).toEqual([]);
  });

  test('its policy forbids connections', async () => {
    // A page of its own: the refusal stands in its console.
    const other = await browser.newPage();
    await other.goto(address);
    const outcome = await other.evaluate(() =>
      fetch('data:text/plain,x').then(
        () => 'connected',
        () => 'refused',
      ),
    );
    expect(outcome).toBe('refused');
    await other.close();
  });

  test('starts from few numbers, called an example, when it holds no report', async () => {
    const bare = await browser.newPage();
    await bare.goto(new URL('examples/dist/notebook/index.html', root).href);
    await expect.poll(() => bare.locator('#subject').textContent()).toContain('120 mm f/7');
    expect(await bare.locator('h1').textContent()).toContain('for example');
    expect(await bare.locator('[data-control=frames] select').inputValue()).toBe('1024');
    await expect.poll(() => bare.locator('#advice-by-filter tbody tr.row').count()).toBe(1);
    await bare.close();
  });
});

describe('what it shows', () => {
  test('the table has the numbers of the report', async () => {
    const rows = await page
      .locator('#advice-by-filter tbody tr.row')
      .evaluateAll((found) => found.map((row) => [...row.children].map((cell) => cell.textContent ?? '')));
    const expected = report.advice.filters.flatMap(({ filter, outcome, focusShiftUm, assessment, trim }) => [
      { name: filter, outcome, focusShiftUm, assessment },
      ...(trim
        ? [
            {
              name: `${filter}: ${trim.change}`,
              outcome: 'within',
              focusShiftUm,
              assessment: trim.assessment,
            },
          ]
        : []),
    ]);
    expect(rows.length).toBe(expected.length);
    expected.forEach(({ name, outcome, focusShiftUm, assessment: { scene, error, growth } }, i) => {
      const [head, result, shift, snr, rms, lost, grown] = rows[i].map(plain);
      expect(head).toBe(name);
      expect(result).toBe(outcome);
      expect(Number(shift.split(' ')[0])).toBeCloseTo(focusShiftUm, 0);
      expect(shift).toContain(`ring ${scene.outerDiameterPx.toFixed(1)} px`);
      expect(snr).toBe(significant(scene.snr, 3));
      expect(rms).toContain(error.noiseEquivalentPx ? `${withError(error.noiseEquivalentPx)} px` : 'none');
      if (error.noiseEquivalentArcsec)
        expect(rms).toContain(`${withError(error.noiseEquivalentArcsec)} arcsec`);
      expect(Number.parseFloat(lost)).toBeCloseTo(100 * error.lostFraction.value, 0);
      expect(grown).toBe(plain(decisionText(growth?.growthPercent, report.rig.budget.fwhmGrowthPercent)));
    });
  });

  test('the answer names every filter but where all share one, and the limit', async () => {
    const { filters, limit } = report.advice;
    const read = async () =>
      plain((await page.locator('section[aria-labelledby=answer] .body').textContent()) ?? '');
    await expect.poll(read).toContain(`${significant(limit.limitUm.value, 2)} µm either side of focus`);
    const answer = await read();
    if (new Set(filters.map(({ outcome }) => outcome)).size > 1)
      for (const { filter } of filters) expect(answer).toContain(filter);
    expect(answer).toContain(`${significant(limit.limitUm.high, 3)} µm`);
    expect(answer).toContain(`${significant(limit.ringDiameterPx.high, 3)} px`);
  });

  test('figures are captioned, numbered, and told in words with their numbers', async () => {
    const labels = await page.locator('figure figcaption .label').allTextContents();
    expect(labels).toEqual(labels.map((_, i) => `Figure ${i + 1}.`));
    expect(labels.length).toBeGreaterThanOrEqual(3);
    const [growth, curve, star] = (
      await page
        .locator(`${chapter} figure svg[role=img]`)
        .evaluateAll((found) => found.map((figure) => figure.getAttribute('aria-label') ?? ''))
    ).map(plain);
    for (const { assessment } of report.advice.filters)
      if (assessment.growth)
        expect(growth).toContain(plain(`${decisionText(assessment.growth.growthPercent, 5)} %`));
    expect(curve).toContain(`${significant(report.advice.limit.limitUm.value, 3)} µm`);
    const first = report.curve[0].noiseEquivalentArcsec;
    if (first) expect(curve).toContain(withError(first));
    for (const picture of report.stars) expect(star).toContain(`SNR ${significant(picture.snr, 2)}`);
  });

  test('names are text, whatever is in them', async () => {
    expect(await page.locator('#advice-by-filter th').allTextContents()).toContain(hostile);
    expect(await page.locator('#subject').textContent()).toContain(`${hostile} & co`);
    expect(await page.locator('img').count()).toBe(0);
    expect(complaints).toEqual([]);
  });

  test('every formula is typeset, in letters that the page brings along', async () => {
    expect(await page.locator(`${chapter} .formula .katex`).count()).toBe(5);
    expect(await page.locator('.katex-error').count()).toBe(0);
    const missing = await page.evaluate(async () => {
      await document.fonts.ready;
      const brought = new Set([...document.fonts].map(({ family }) => family.replaceAll('"', '')));
      const used = [...document.querySelectorAll('.katex-html *')].map(
        (part) => getComputedStyle(part).fontFamily.split(',')[0],
      );
      return [...new Set(used)].filter((family) => !brought.has(family.replaceAll('"', '').trim()));
    });
    expect(missing).toEqual([]);
  });
});

describe('what it gives away', () => {
  const saved = async (page: Page, link: string): Promise<string> => {
    const [download] = await Promise.all([page.waitForEvent('download'), page.locator(link).click()]);
    return (await bytesOf(download)).toString('utf8');
  };

  test('the table as CSV, in full', async () => {
    const lines = (await saved(page, '#advice-by-filter .save')).split('\r\n');
    expect(lines[0].split(',').slice(0, 3)).toEqual(['filter', 'change', 'focus shift (um)']);
    const { filter, assessment } = report.advice.filters[0];
    expect(lines[1]).toContain(filter);
    expect(lines[1]).toContain(String(assessment.error.noiseEquivalentPx?.value));
  });

  test('a figure as SVG that stands alone', async () => {
    const text = await saved(page, '#error-against-focus-shift .save >> nth=0');
    expect(text.startsWith('<svg xmlns="http://www.w3.org/2000/svg"')).toBe(true);
    expect(text).not.toMatch(/var\(|href|<script|<style/);
    const parsed = await page.evaluate(
      (source) =>
        new DOMParser().parseFromString(source, 'image/svg+xml').querySelector('parsererror') === null,
      text,
    );
    expect(parsed).toBe(true);
  });
});

test('Node draws the same figures as the page', async () => {
  const told = await page
    .locator(`${chapter} figure svg[role=img]`)
    .evaluateAll((found) => found.map((figure) => figure.getAttribute('aria-label')));
  const files = [growthFigure, errorCurveFigure, starStripFigure].map((draw) =>
    svgFileText(draw(report, { document: figureDocument(), paper: true })),
  );
  const drawn = await page.evaluate(
    (texts) =>
      texts.map((text) => {
        const { documentElement: figure } = new DOMParser().parseFromString(text, 'image/svg+xml');
        return {
          told: figure.getAttribute('aria-label'),
          parts: figure.querySelectorAll('path, line, text').length,
        };
      }),
    files,
  );
  expect(drawn.map((figure) => figure.told)).toEqual(told);
  for (const { parts } of drawn) expect(parts).toBeGreaterThan(20);
});

describe('for every reader', () => {
  const look = async (width: number, colorScheme: 'light' | 'dark') => {
    await openAll(page);
    await page.emulateMedia({ colorScheme });
    await page.setViewportSize({ width, height: 800 });
    // Figures follow the width when it has settled.
    const widest = () =>
      page.evaluate(() =>
        Math.max(...[...document.querySelectorAll('figure svg[role=img]')].map((svg) => svg.clientWidth)),
      );
    await expect.poll(widest).toBeLessThanOrEqual(width);
  };

  test.each([
    ['light', 1200],
    ['light', 360],
    ['dark', 1200],
    ['dark', 360],
  ] as const)('no accessibility fault, %s, %i px', async (colorScheme, width) => {
    await look(width, colorScheme);
    await page.evaluate(axe);
    // The rest of the page is looked at by notebook-readers.slow.test.ts.
    const faults = await page.evaluate(async (chapter) => {
      const { axe } = globalThis as unknown as {
        axe: { run(part: string, options: object): Promise<AxeResult> };
      };
      const found = await axe.run(chapter, { resultTypes: ['violations'] });
      return found.violations.map(({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html).join(' ')}`);
    }, chapter);
    expect(faults).toEqual([]);
  });

  test.each([360, 500, 800, 1060, 1200])('fits a page of %i px', async (width) => {
    await look(width, 'light');
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(width);
  });

  test('prints in black on white, dark as the screen may be', async () => {
    await look(1200, 'dark');
    const colors = () =>
      page.evaluate(() => {
        const { backgroundColor, color } = getComputedStyle(document.documentElement);
        return { backgroundColor, color };
      });
    expect((await colors()).backgroundColor).toBe('rgb(25, 24, 22)');
    await page.emulateMedia({ media: 'print', colorScheme: 'dark' });
    expect(await colors()).toEqual({ backgroundColor: 'rgb(255, 255, 255)', color: 'rgb(0, 0, 0)' });
    expect(await page.locator('button.save').first().isVisible()).toBe(false);
    await page.emulateMedia({ media: 'screen', colorScheme: 'light' });
  });

  test('asked nothing of any network all the while, and complained of nothing', () => {
    expect(asked[0]).toBe(address);
    expect(asked.filter((url) => !/^(file|data|blob):/.test(url))).toEqual([]);
    expect(complaints).toEqual([]);
  });
});

interface AxeResult {
  readonly violations: readonly {
    readonly id: string;
    readonly nodes: readonly { readonly html: string }[];
  }[];
}

test('a number has no digit that the decision does not need', () => {
  // A fiftieth of 5 % is 0.1 %.
  expect(decisionText({ value: 0.009, standardError: 0.0003 }, 5)).toBe('less than 0.1');
  expect(plain(decisionText({ value: 0.3312, standardError: 0.0201 }, 5))).toBe('0.3');
  expect(plain(decisionText({ value: 3.2449, standardError: 0.1312 }, 5))).toBe('3.2 ± 0.1');
  expect(plain(decisionText({ value: 52.3, standardError: 6.44 }, 60))).toBe('52 ± 6');
  expect(decisionText({ value: 4512.3, standardError: 12.1 }, 5)).toBe('more than 100');
  expect(decisionText(undefined, 5)).toBe('none');
});

describe('filling a page', () => {
  test('refuses a template without an empty place', () => {
    expect(() => fillPage('<html></html>', report)).toThrow(/one empty place for a report .*, got 0/);
    expect(() => fillPage(fillPage(template, report), report)).toThrow(/got 0/);
  });

  test('keeps what the report says, to the last letter', () => {
    const page = fillPage(template, report);
    const json = page.split('id="holdfast-report">')[1].split('</script>')[0];
    expect(json).not.toMatch(/[<>&]/);
    expect(JSON.parse(json)).toEqual(JSON.parse(JSON.stringify(report)));
    expect(page.length - json.length).toBe(template.length);
  });

  test('weighs less than 1 MB as sent', () => {
    expect(gzipSync(fillPage(template, report)).length).toBeLessThan(1e6);
  });
});
