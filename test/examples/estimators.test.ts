/** The comparison of estimators, with few frames. `estimators.slow.test.ts` starts it as users start it. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';
import { answerHere, freshFolder, refusalHere } from './run-example.ts';

interface Compared {
  readonly estimator: string;
  readonly rmsPx?: number;
  readonly boundRatio?: number;
  readonly boundRatioError?: number;
  readonly biasPx?: number;
  readonly lostFraction: number;
}
interface Cell {
  readonly outerDiameterPx: number;
  readonly snr: number;
  readonly fluxE: number;
  readonly boundPx: number;
  readonly estimators: readonly Compared[];
}
interface Judgment {
  readonly outerDiameterPx: number;
  readonly snr: number;
  readonly isAsymptotic: boolean;
  readonly metBy: readonly string[];
}

const folder = freshFolder();
const frames = 16;
let text: string;
let cells: readonly Cell[];
let goal: readonly Judgment[];
beforeAll(async () => {
  const args = ['--frames', String(frames), '--figure', 'figure.svg'];
  const answer = await answerHere('estimators', args, folder);
  text = answer.text;
  ({ cells, goal } = answer.data);
});

describe('the comparison', () => {
  test('measures eight estimators in thirty cells', () => {
    expect(cells).toHaveLength(30);
    expect(new Set(cells.map(({ outerDiameterPx }) => outerDiameterPx))).toEqual(
      new Set([0, 5, 10, 20, 30, 40]),
    );
    expect(new Set(cells.map(({ snr }) => snr))).toEqual(new Set([5, 15, 50, 150, 500]));
    const names = new Set(cells.flatMap(({ estimators }) => estimators.map(({ estimator }) => estimator)));
    expect(names.size).toBe(8);
  });

  test('the template fit is at the bound wherever the bound is meaningful', () => {
    const fits = cells
      .filter((_, i) => goal[i].isAsymptotic)
      .map(({ estimators }) => estimators.find(({ estimator }) => estimator === 'templateFit'));
    expect(fits.length).toBeGreaterThan(18);
    expect(fits.every((fit) => fit?.lostFraction === 0)).toBe(true);
    const squares = fits.map((fit) => (fit?.boundRatio ?? 0) ** 2);
    const rms = Math.sqrt(squares.reduce((sum, v) => sum + v, 0) / squares.length);
    expectWithin(
      rms,
      1,
      3.5 / Math.sqrt(4 * frames * fits.length) + 0.015,
      '3.5 standard errors, second order',
    );
  });

  test('the center of mass of a wide bright ring is far above the bound, its symmetry is not', () => {
    const { estimators } = cells.find(
      ({ outerDiameterPx, snr }) => outerDiameterPx === 40 && snr === 500,
    ) as Cell;
    const ratio = (name: string) => estimators.find(({ estimator }) => estimator === name)?.boundRatio ?? 0;
    expect(ratio('centerOfMass')).toBeGreaterThan(1.8);
    expectWithin(ratio('pointSymmetryCenter'), 1.02, 0.3, 'few frames');
  });

  test('the goal is judged as its numbers say', () => {
    expect(goal.some(({ metBy }) => metBy.length > 0)).toBe(true);
    cells.forEach(({ boundPx, estimators }, i) => {
      expect(goal[i].isAsymptotic).toBe(boundPx <= 0.25);
      for (const { estimator, boundRatio = Infinity, boundRatioError = 0, lostFraction } of estimators)
        if (goal[i].metBy.includes(estimator)) {
          expect(boundRatio).toBeLessThanOrEqual(1.05 + 2 * boundRatioError);
          expect(lostFraction).toBeLessThanOrEqual(0.01);
        }
    });
  });

  test('draws a figure that says what it shows', () => {
    const svg = readFileSync(join(folder, 'figure.svg'), 'utf8');
    expect(svg).toMatch(
      /^<svg [^>]*aria-label="Rms error of the position of each method over the least possible error/,
    );
    for (const words of ['SNR 5', 'SNR 500', 'template fit', 'symmetry', 'outer diameter of the ring, px'])
      expect(svg).toContain(words);
  });

  test('the table holds the same numbers', () => {
    const rows = text.split('\n').filter((line) => /^ *\d+ +(5|15|50|150|500) /.test(line));
    expect(rows).toHaveLength(30);
    rows.forEach((row, i) => {
      const ratio = cells[i].estimators.find(({ estimator }) => estimator === 'templateFit')?.boundRatio ?? 0;
      expect(row).toMatch(new RegExp(` ${ratio.toFixed(2)}( \\(\\d+ %\\))?$`));
    });
    expect(text).toMatch(/Met in \d+ of the \d+ cells where that error is below a tenth/);
  });
});

describe('the command line', () => {
  test.each([
    [['--frames', '3'], /--frames must be a whole number from 16 to 1000000, got 3/],
    [['--seed', ''], /--seed must not be empty/],
    [['--rings', '3'], /--rings/],
  ])('%j is refused', async (args, message) => {
    expect(await refusalHere('estimators', args)).toMatch(message);
  });
  test('a figure that cannot be written', async () => {
    const args = ['--frames', '16', '--figure', 'none/figure.svg'];
    expect(await refusalHere('estimators', args)).toMatch(/cannot write none\/figure\.svg/);
  });
});
