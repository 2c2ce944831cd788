/**
 * The sheet of star shapes: run as users run it, its picture opened in a browser, its numbers against their
 * derivation.
 */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { renderStar, type StarShape } from '@holdfast/psf';
import { beforeAll, describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';
import { answerHere, freshFolder, type Run, refusalHere, runExample } from './run-example.ts';
import { sharedBrowser } from './shared-browser.ts';

interface Row {
  readonly title: string;
  readonly kind: string;
  readonly shape: { readonly [field: string]: number };
  readonly stamp: { readonly width: number };
  readonly outsideFraction: number;
  readonly centerOfMassPx: { readonly x: number; readonly y: number };
  readonly expectedCenterOfMassPx: { readonly x: number; readonly y: number };
  readonly secondMomentsPx2: { readonly xx: number; readonly xy: number; readonly yy: number };
}

const folder = freshFolder();
const sheet = join(folder, 'sheet.svg');
let run: Run;
let rows: readonly Row[];
beforeAll(() => {
  run = runExample('star-shapes', ['--json', '--out', 'sheet.svg'], folder);
  rows = JSON.parse(run.stdout);
});

/** Every kind that the library knows, in its own words. */
function knownKinds(): string[] {
  try {
    renderStar({ kind: 'none' } as unknown as StarShape, { width: 2, height: 2, x: 0, y: 0, flux: 1 });
  } catch (error) {
    const [, kinds] = /one of ([\w, -]+), got/.exec((error as Error).message) ?? [];
    return (kinds as string).split(', ');
  }
  throw new Error('a shape of no kind was drawn');
}

describe('the numbers', () => {
  test('come for every kind that the library draws', () => {
    expect(run.stderr).toBe('');
    expect(run.status).toBe(0);
    // A table of pixels and a shape of one's own are what a user brings.
    const drawn = knownKinds().filter((kind) => kind !== 'table' && kind !== 'own');
    expect(drawn.length).toBeGreaterThanOrEqual(8);
    expect(new Set(rows.map(({ kind }) => kind))).toEqual(new Set([...drawn, 'short-exposure']));
  });
  test('are all there and finite', () => {
    // JSON writes null for what is not a finite number.
    expect(run.stdout).not.toContain('null');
    for (const { outsideFraction, centerOfMassPx, secondMomentsPx2 } of rows) {
      const { xx, xy, yy } = secondMomentsPx2;
      for (const value of [outsideFraction, centerOfMassPx.x, centerOfMassPx.y, xx, xy, yy])
        expect(typeof value).toBe('number');
      expect(outsideFraction >= 0 && outsideFraction < 0.05, `${outsideFraction} is outside`).toBe(true);
      expect(xx * yy - xy * xy).toBeGreaterThan(0);
    }
  });
  test('put each center of mass where it was derived', () => {
    for (const { title, stamp, outsideFraction, centerOfMassPx, expectedCenterOfMassPx } of rows) {
      // The center of a star that is narrow for its pixels is drawn to theirs, by up to exp(-2 pi^2 s^2) / pi
      // with the rms width s (first harmonic, derived): 0.018 px for a FWHM of 0.9 px.
      const pixels = title === 'Gaussian, undersampled' ? 0.018 : 0;
      const allowed = 1e-4 + pixels + outsideFraction * stamp.width;
      for (const axis of ['x', 'y'] as const)
        expectWithin(
          centerOfMassPx[axis],
          expectedCenterOfMassPx[axis],
          allowed,
          `${title}: light outside, about a stamp away`,
        );
    }
  });
  test('give Gaussian and annulus the second moments of their formulas', () => {
    const perFwhm = 1 / (8 * Math.log(2));
    let checked = 0;
    for (const { kind, shape, outsideFraction, secondMomentsPx2 } of rows) {
      if (outsideFraction > 1e-6 || (kind !== 'gaussian' && kind !== 'annulus')) continue;
      const { fwhmPx = 0, blurFwhmPx = 0, outerDiameterPx = 0, obstructionRatio = 0 } = shape;
      if (kind === 'gaussian' && fwhmPx < 2) continue;
      // Of the star, of the ring, and of the pixel (derived).
      const expected =
        perFwhm * (fwhmPx ** 2 + blurFwhmPx ** 2) +
        (outerDiameterPx ** 2 * (1 + obstructionRatio ** 2)) / 16 +
        1 / 12;
      expectWithin(secondMomentsPx2.xx, expected, 1e-4, 'light outside and pixels: 1e-8 of it 30 px away');
      expectWithin(secondMomentsPx2.yy, expected, 1e-4, 'light outside and pixels: 1e-8 of it 30 px away');
      checked++;
    }
    expect(checked).toBe(6);
  });
});

describe('the sheet', () => {
  test('needs nothing but itself, and shows every star by its title', () => {
    const text = readFileSync(sheet, 'utf8');
    expect([...text.matchAll(/href="([^"]{11})/g)].filter(([, start]) => start !== 'data:image/')).toEqual(
      [],
    );
    expect(text).not.toMatch(/url\(|<script|<style|@import|<foreignObject/);
    rows.forEach(({ title }, n) => {
      expect(text).toContain(`>${n + 1}. ${title}<`);
    });
  });
  test('is well-formed to a browser, and its plates hold a picture each', async () => {
    const browser = await sharedBrowser();
    try {
      const page = await browser.newPage();
      await page.goto(pathToFileURL(sheet).href);
      const seen = await page.evaluate(async () => {
        const sizes = [];
        for (const image of document.querySelectorAll('image')) {
          const picture = new Image();
          picture.src = image.getAttribute('href') as string;
          await picture.decode();
          sizes.push(picture.naturalWidth);
        }
        const errors = document.querySelectorAll('parsererror').length;
        return { root: document.documentElement.tagName, errors, sizes };
      });
      expect(seen.root).toBe('svg');
      expect(seen.errors).toBe(0);
      // After the key of inks, one picture element for each pixel.
      expect(seen.sizes.slice(1)).toEqual(rows.map(({ stamp }) => stamp.width));
    } finally {
      await browser.close();
    }
  });
});

describe('the program', () => {
  test('prints a table without --json, and draws the same sheet again', async () => {
    const again = freshFolder();
    const { text } = await answerHere('star-shapes', [], again);
    for (const { title } of rows) expect(text).toMatch(new RegExp(`^${title}  +\\d`, 'm'));
    expect(text).toMatch(/Sheet: star-shapes\.svg$/);
    expect(readFileSync(join(again, 'star-shapes.svg'), 'utf8')).toBe(readFileSync(sheet, 'utf8'));
  });
  test.each([
    [['--size', '3'], /--size/],
    [['--out', ''], /--out must not be empty/],
    [['--json', '--out', 'none/sheet.svg'], /cannot write none\/sheet\.svg/],
  ])('%j is told', async (args, message) => {
    expect(await refusalHere('star-shapes', args)).toMatch(message);
  });
});
