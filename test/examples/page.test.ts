/** The page as a reader opens it: built, filled with a real report, from the disk, in a browser. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { gzipSync } from 'node:zlib';
import { parseRig } from '@holdfast/sim';
import { significant, withError } from '@holdfast/sim/internal';
import type { Browser, BrowserContextOptions, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { fillPage } from '../../examples/dist/build/notebook-page.js';
import { errorCurveFigure } from '../../examples/dist/figures/error-curve.js';
import { figureDocument, svgFileText } from '../../examples/dist/figures/figure-document.js';
import { growthFigure } from '../../examples/dist/figures/growth.js';
import { starStripFigure } from '../../examples/dist/figures/star-strip.js';
import { makeReport } from '../../examples/dist/reports/make-report.js';
import type { Report } from '../../examples/dist/reports/report.js';
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

beforeAll(async () => {
  browser = await sharedBrowser();
  const rig = parseRig(readFileSync(new URL('examples/rigs/fast-reflector.json', root), 'utf8'));
  const filters = rig.filters.map((filter, i) => (i === 2 ? { ...filter, name: hostile } : filter));
  report = await makeReport({ ...rig, name: `${hostile} & co`, filters }, { seed: 'page', trials: 64 });
  folder = mkdtempSync(join(tmpdir(), 'holdfast-page-'));
  const file = join(folder, 'holdfast.html');
  writeFileSync(file, fillPage(template, report));
  address = pathToFileURL(file).href;
});

afterAll(async () => {
  await browser?.close();
  if (folder) rmSync(folder, { recursive: true });
});

/** What a page asked for and complained of while it was open. */
interface Seen {
  readonly asked: string[];
  readonly complaints: string[];
}

/** Opens the page, waits for its figures, and closes it when `look` is done. */
async function withPage(
  options: BrowserContextOptions,
  look: (page: Page, seen: Seen) => Promise<void>,
): Promise<void> {
  const context = await browser.newContext(options);
  context.setDefaultTimeout(patienceMs);
  try {
    const page = await context.newPage();
    const seen: Seen = { asked: [], complaints: [] };
    page.on('request', (request) => seen.asked.push(request.url()));
    page.on('console', (message) => {
      if (message.type() === 'error' || message.type() === 'warning') seen.complaints.push(message.text());
    });
    page.on('pageerror', (error) => seen.complaints.push(error.message));
    page.on('dialog', (dialog) => {
      seen.complaints.push(`dialog: ${dialog.message()}`);
      void dialog.dismiss();
    });
    await page.goto(address);
    await expect.poll(() => page.locator(`${chapter} figure svg[role=img]`).count()).toBe(3);
    await look(page, seen);
  } finally {
    await context.close();
  }
}

/** The chapter that shows the report. */
const chapter = 'article[aria-labelledby=should-i-refocus]';

const wide = { viewport: { width: 1200, height: 900 } };
const narrow = { viewport: { width: 360, height: 800 } };

/** Every folded part unfolded. */
const openAll = (page: Page): Promise<void> =>
  page.evaluate(() => {
    for (const details of document.querySelectorAll('details')) details.open = true;
  });

/** Numbers as a report has them: the page prints true minus signs and spaces that do not break. */
const plain = (text: string): string => text.replaceAll('\u00a0', ' ').replaceAll('−', '-').trim();

describe('from the disk', () => {
  test('asks nothing of any network and complains of nothing', () =>
    withPage(wide, async (page, { asked, complaints }) => {
      await openAll(page);
      await page.setViewportSize(narrow.viewport);
      const drawnWidth = () => page.locator('figure svg[role=img]').first().getAttribute('width');
      await expect.poll(drawnWidth).toMatch(/^3\d\d$/);
      expect(asked[0]).toBe(address);
      expect(asked.filter((url) => !/^(file|data|blob):/.test(url))).toEqual([]);
      expect(complaints).toEqual([]);
    }));

  test('its policy forbids connections', () =>
    withPage(wide, async (page) => {
      const outcome = await page.evaluate(() =>
        fetch('data:text/plain,x').then(
          () => 'connected',
          () => 'refused',
        ),
      );
      expect(outcome).toBe('refused');
    }));

  test('starts from few numbers, called an example, when it holds no report', async () => {
    const page = await browser.newPage();
    await page.goto(new URL('examples/dist/notebook/index.html', root).href);
    await expect.poll(() => page.locator('#subject').textContent()).toContain('120 mm f/7');
    expect(await page.locator('h1').textContent()).toContain('for example');
    await expect.poll(() => page.locator('#advice-by-filter tbody tr.row').count()).toBe(1);
    await page.close();
  });
});

describe('what it shows', () => {
  test('the table has the numbers of the report', () =>
    withPage(wide, async (page) => {
      const rows = await page
        .locator('#advice-by-filter tbody tr.row')
        .evaluateAll((found) => found.map((row) => [...row.children].map((cell) => cell.textContent ?? '')));
      const expected = report.advice.filters.flatMap(({ filter, outcome, focusShiftUm, standing, trim }) => [
        { name: filter, outcome, focusShiftUm, standing },
        ...(trim
          ? [{ name: `${filter}: ${trim.change}`, outcome: 'within', focusShiftUm, standing: trim.standing }]
          : []),
      ]);
      expect(rows.length).toBe(expected.length);
      expected.forEach(({ name, outcome, focusShiftUm, standing: { scene, error, growth } }, i) => {
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
        expect(grown).toBe(growth ? withError(growth.growthPercent) : 'none');
      });
    }));

  test('the answer names every filter but where all share one, and the limit', () =>
    withPage(wide, async (page) => {
      const { filters, limit } = report.advice;
      const read = async () =>
        plain((await page.locator('section[aria-labelledby=answer] .answer').textContent()) ?? '');
      await expect.poll(read).toContain(`${significant(limit.limitUm.value, 3)} µm`);
      const answer = await read();
      if (new Set(filters.map(({ outcome }) => outcome)).size > 1)
        for (const { filter } of filters) expect(answer).toContain(filter);
      expect(answer).toContain(`${significant(limit.limitUm.value, 3)} µm`);
      expect(answer).toContain(`${significant(limit.ringDiameterPx.high, 3)} px`);
    }));

  test('figures are captioned, numbered, and told in words with their numbers', () =>
    withPage(wide, async (page) => {
      const labels = await page.locator('figure figcaption .label').allTextContents();
      expect(labels).toEqual(labels.map((_, i) => `Figure ${i + 1}.`));
      expect(labels.length).toBeGreaterThanOrEqual(3);
      const [growth, curve, star] = (
        await page
          .locator(`${chapter} figure svg[role=img]`)
          .evaluateAll((found) => found.map((figure) => figure.getAttribute('aria-label') ?? ''))
      ).map(plain);
      for (const { standing } of report.advice.filters)
        if (standing.growth) expect(growth).toContain(withError(standing.growth.growthPercent));
      expect(curve).toContain(`${significant(report.advice.limit.limitUm.value, 3)} µm`);
      const first = report.curve[0].noiseEquivalentArcsec;
      if (first) expect(curve).toContain(withError(first));
      for (const picture of report.stars) expect(star).toContain(`SNR ${significant(picture.snr, 2)}`);
    }));

  test('names are text, whatever is in them', () =>
    withPage(wide, async (page, { complaints }) => {
      expect(await page.locator('#advice-by-filter th').allTextContents()).toContain(hostile);
      expect(await page.locator('#subject').textContent()).toContain(`${hostile} & co`);
      expect(await page.locator('img').count()).toBe(0);
      expect(complaints).toEqual([]);
    }));

  test('every formula is typeset, in letters that the page brings along', () =>
    withPage(wide, async (page) => {
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
    }));
});

describe('what it gives away', () => {
  const saved = async (page: Page, link: string): Promise<string> => {
    const [download] = await Promise.all([page.waitForEvent('download'), page.locator(link).click()]);
    return (await bytesOf(download)).toString('utf8');
  };

  test('the table as CSV, in full', () =>
    withPage(wide, async (page) => {
      const lines = (await saved(page, '#advice-by-filter .save')).split('\r\n');
      expect(lines[0].split(',').slice(0, 3)).toEqual(['filter', 'change', 'focus shift (um)']);
      const { filter, standing } = report.advice.filters[0];
      expect(lines[1]).toContain(filter);
      expect(lines[1]).toContain(String(standing.error.noiseEquivalentPx?.value));
    }));

  test('a figure as SVG that stands alone', () =>
    withPage(wide, async (page) => {
      const text = await saved(page, '#error-against-focus-shift .save >> nth=0');
      expect(text.startsWith('<svg xmlns="http://www.w3.org/2000/svg"')).toBe(true);
      expect(text).not.toMatch(/var\(|href|<script|<style/);
      const parsed = await page.evaluate(
        (source) =>
          new DOMParser().parseFromString(source, 'image/svg+xml').querySelector('parsererror') === null,
        text,
      );
      expect(parsed).toBe(true);
    }));
});

test('Node draws the same figures as the page', () =>
  withPage(wide, async (page) => {
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
  }));

describe('for every reader', () => {
  for (const colorScheme of ['light', 'dark'] as const)
    for (const size of [wide, narrow])
      test(`no accessibility fault, ${colorScheme}, ${size.viewport.width} px`, () =>
        withPage({ ...size, colorScheme }, async (page) => {
          await openAll(page);
          await page.evaluate(axe);
          const faults = await page.evaluate(async () => {
            const found = await (globalThis as unknown as { axe: { run(): Promise<AxeResult> } }).axe.run();
            return found.violations.map(
              ({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html).join(' ')}`,
            );
          });
          expect(faults).toEqual([]);
        }));

  test.each([360, 500, 800, 1060, 1200])('fits a page of %i px', (width) =>
    withPage({ viewport: { width, height: 800 } }, async (page) => {
      await openAll(page);
      expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(width);
    }),
  );

  test('prints in black on white, dark as the screen may be', () =>
    withPage({ ...wide, colorScheme: 'dark' }, async (page) => {
      const colours = () =>
        page.evaluate(() => {
          const { backgroundColor, color } = getComputedStyle(document.documentElement);
          return { backgroundColor, color };
        });
      expect((await colours()).backgroundColor).toBe('rgb(25, 24, 22)');
      await page.emulateMedia({ media: 'print', colorScheme: 'dark' });
      expect(await colours()).toEqual({ backgroundColor: 'rgb(255, 255, 255)', color: 'rgb(0, 0, 0)' });
      expect(await page.locator('button.save').first().isVisible()).toBe(false);
    }));
});

interface AxeResult {
  readonly violations: readonly {
    readonly id: string;
    readonly nodes: readonly { readonly html: string }[];
  }[];
}

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
