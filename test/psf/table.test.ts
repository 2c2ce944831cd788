import { type OwnShape, prepareStar, renderStar, type StarShape, type TableShape } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';
import { describeShapeContract } from './shape-contract.ts';

const columns = 37;
const rows = 29;
/** A lopsided blob: no symmetry helps. */
const cell = (i: number, j: number): number =>
  Math.max(0, 1 - ((i - 15.2) / 15) ** 2 - ((j - 12.6) / 12) ** 2) * (2 + 0.05 * i);
const light = Array.from({ length: columns * rows }, (_, k) => cell(k % columns, Math.floor(k / columns)));
const table: TableShape = { kind: 'table', columns, light, cellsPerPx: 3 };
const turned = Array.from({ length: columns * rows }, (_, k) => cell(Math.floor(k / rows), k % rows));

describeShapeContract('table of light', table, {
  reachPx: 9,
  outside: 0,
  pixelError: 1e-15,
  // Cells of 1/3 px straddle the borders of pixels: a pixel's light counts at its center (2e-4 px found).
  momentErrorPx: 5e-4,
  transposed: { kind: 'table', columns: rows, light: turned, cellsPerPx: 3 },
  doubled: { kind: 'table', columns: 2 * columns, light: twice(), cellsPerPx: 3 },
  refused: [
    ['columns', 0],
    ['columns', 36],
    ['light', 'none'],
    ['cellsPerPx', 0],
    ['cellsPerPx', 1.5],
  ],
});

/** Each cell as four of the same light. */
function twice(): number[] {
  return Array.from({ length: 4 * columns * rows }, (_, k) =>
    cell(Math.floor((k % (2 * columns)) / 2), Math.floor(Math.floor(k / (2 * columns)) / 2)),
  );
}

describe('a table of light', () => {
  test('one cell per pixel in the middle of pixels is the table itself', () => {
    const shape: TableShape = { kind: 'table', columns: 3, light: [0, 2, 0, 2, 4, 2, 0, 2, 0] };
    const image = renderStar(shape, { width: 5, height: 4, x: 2, y: 1, flux: 12 });
    expect([...image.data]).toEqual([0, 0, 2, 0, 0, 0, 2, 4, 2, 0, 0, 0, 2, 0, 0, 0, 0, 0, 0, 0]);
  });
  test('a cell that lies across four pixels is shared by area', () => {
    const dot: TableShape = { kind: 'table', columns: 1, light: [7] };
    const image = renderStar(dot, { width: 2, height: 2, x: 0.25, y: 0.5, flux: 100 });
    expect([...image.data]).toEqual([37.5, 12.5, 37.5, 12.5]);
  });
  test.each([
    [[1, -1], /light\[1\] must be a finite number >= 0, got -1/],
    [[1, 2, 3], /light.length \/ columns must be a whole number from 1 to 4096, got 1.5/],
    [[0, 0], /the sum of light must be a finite number > 0, got 0/],
  ])('light %j on two columns is refused', (cells, message) => {
    const shape: TableShape = { kind: 'table', columns: 2, light: cells };
    expect(() => prepareStar(shape, { width: 5, height: 4 })).toThrow(message);
  });
  test('a fine table of a Gaussian is that Gaussian', () => {
    const cellsPerPx = 8;
    const side = 24 * cellsPerPx + 1;
    const fine = renderStar(
      { kind: 'gaussian', fwhmPx: 3 * cellsPerPx },
      { width: side, height: side, x: (side - 1) / 2, y: (side - 1) / 2, flux: 1 },
    );
    const stamp = { width: 21, height: 19, x: 9.37, y: 8.81, flux: 1000 };
    const drawn = renderStar({ kind: 'table', columns: side, light: fine.data, cellsPerPx }, stamp);
    const exact = renderStar({ kind: 'gaussian', fwhmPx: 3 }, stamp);
    for (let k = 0; k < exact.data.length; k++)
      // A cell is 1/8 px wide: its even light broadens the star by (1/8)^2 / 12 = 0.0013 px^2 of 1.62.
      expectWithin(drawn.data[k], exact.data[k], 0.001 * 100, 'a peak of 98 electrons, wider by 0.08 %');
  });
});

describe('a shape of your own', () => {
  const size = { width: 9, height: 7 };
  const own = (renderInto: (out: Float64Array, x: number, y: number, flux: number) => void): OwnShape => ({
    kind: 'own',
    name: 'mine',
    prepare: () => ({ renderInto }),
  });
  test('is drawn wherever a shape is', () => {
    const round: OwnShape = {
      kind: 'own',
      name: 'round',
      prepare: (of) => {
        const plan = prepareStar({ kind: 'gaussian', fwhmPx: 2 }, of);
        return { renderInto: (out, x, y, flux) => void plan.renderInto(out, x, y, flux) };
      },
    };
    const group: StarShape = { kind: 'group', star: round, neighbors: [] };
    const at = { ...size, x: 4.2, y: 3, flux: 90 };
    expect(renderStar(group, at).data).toEqual(renderStar({ kind: 'gaussian', fwhmPx: 2 }, at).data);
  });
  test.each([
    ['light that is not a number', own((out) => void out.fill(Number.NaN)), /finite light >= 0, got NaN/],
    ['negative light', own((out) => void out.fill(-1)), /got -1 in pixel 0/],
    ['more light than its flux', own((out) => void out.fill(2)), /at most its flux of 90, got 126/],
    [
      'no plan',
      { kind: 'own', name: 'mine', prepare: () => ({}) } as unknown as OwnShape,
      /must be a function that returns/,
    ],
    ['no program', { kind: 'own', name: 'mine' } as unknown as OwnShape, /must be a function/],
  ])('%s is refused', (_, shape, message) => {
    expect(() => renderStar(shape, { ...size, x: 4, y: 3, flux: 90 })).toThrow(message);
  });
});
