/**
 * Maps of the error over two axes of a sweep: lines of equal error, and the line where the budget is spent.
 */
import { noiseWithinBudgetArcsec, type Rig, type SweepRow } from '@holdfast/sim';
import { significant } from '@holdfast/sim/internal';
import * as Plot from '@observablehq/plot';
import type { FigureOptions } from './figure.ts';
import { lightInks } from './inks.ts';
import { type Axis, axisLabels, framed, placeOf, plain, seriesOf } from './sweep-axes.ts';

/** One map an estimator, one above the other. */
export function errorMapFigure(
  rig: Rig,
  rows: readonly SweepRow[],
  xAxis: Axis,
  yAxis: Axis,
  options: FigureOptions,
): SVGSVGElement {
  const { document = globalThis.document, width = 760, inks = lightInks } = options;
  const allowed = noiseWithinBudgetArcsec(rig);
  const measured = rows.filter((row) => row.noiseEquivalentArcsec !== undefined);
  const series = [...new Set(rows.map(seriesOf))];
  const height = 120 + 220 * series.length;
  const logY = yAxis === 'snr';
  const arcsec = (row: SweepRow) =>
    Math.log10((row.noiseEquivalentArcsec as NonNullable<typeof row.noiseEquivalentArcsec>).value);
  const steps = levelsFor(measured.map(arcsec));
  const contour = (thresholds: number[], style: object) =>
    Plot.contour(measured, {
      x: (row: SweepRow) => placeOf(row, xAxis),
      y: (row: SweepRow) => placeOf(row, yAxis),
      fy: seriesOf,
      value: arcsec,
      thresholds,
      interpolate: betweenGridLines,
      fill: 'none',
      ...style,
    });
  const plot = Plot.plot({
    document,
    width,
    height,
    marginLeft: 62,
    marginBottom: 42,
    marginRight: 16,
    x: { label: null, grid: true },
    y: { type: logY ? 'log' : 'linear', label: null, grid: true, tickFormat: plain },
    fy: { domain: series, label: null, axis: null },
    marks: [
      Plot.dot(rows, { x: xAxis, y: yAxis, fy: seriesOf, r: 1.2, fill: inks.rule }),
      contour(steps, { stroke: inks.ink, strokeWidth: 0.8 }),
      contour([Math.log10(allowed)], {
        stroke: inks.accent,
        strokeWidth: 2.4,
        strokeDasharray: '1 4',
        strokeLinecap: 'round',
      }),
      // Contours close along the border of the map: paper over that, then the border itself.
      Plot.frame({ stroke: inks.paper, strokeWidth: 5 }),
      Plot.frame({ stroke: inks.rule }),
      Plot.text(labelPlaces(measured, steps, xAxis, yAxis), {
        x: 'x',
        y: 'y',
        fy: 'series',
        text: 'text',
        fill: inks.ink,
        stroke: inks.paper,
        strokeWidth: 4,
      }),
      Plot.text(series, {
        fy: (name: string) => name,
        text: (name: string) => name,
        frameAnchor: 'top-left',
        dx: 6,
        dy: 6,
        fontStyle: 'italic',
        fill: inks.ink,
        stroke: inks.paper,
        strokeWidth: 5,
      }),
    ],
  });
  return framed(
    rows,
    xAxis,
    `${axisLabels[yAxis]} — lines of equal noise-equivalent error, one axis, arcsec`,
    plot,
    height,
    {
      ...options,
      document,
      width,
    },
  );
}

/**
 * Linear between the lines of the sweep's own grid, in the plane of the figure; a missing cell leaves a gap.
 */
function betweenGridLines(
  index: number[],
  width: number,
  height: number,
  X: number[],
  Y: number[],
  V: ArrayLike<number>,
): number[] {
  const place = (at: number) => Math.round(at * 1000) / 1000;
  const columns = [...new Set(index.map((i) => place(X[i])))].sort((a, b) => a - b);
  const lines = [...new Set(index.map((i) => place(Y[i])))].sort((a, b) => a - b);
  const grid = new Float64Array(columns.length * lines.length).fill(Number.NaN);
  for (const i of index)
    grid[lines.indexOf(place(Y[i])) * columns.length + columns.indexOf(place(X[i]))] = V[i];
  const out = new Array<number>(width * height);
  const cell = (places: readonly number[], at: number) => {
    let k = 0;
    while (k < places.length - 2 && places[k + 1] < at) k++;
    return { k, part: Math.min(1, Math.max(0, (at - places[k]) / (places[k + 1] - places[k]))) };
  };
  for (let y = 0, n = 0; y < height; y++) {
    const row = cell(lines, y + 0.5);
    for (let x = 0; x < width; x++, n++) {
      const column = cell(columns, x + 0.5);
      const at = (dy: number, dx: number) => grid[(row.k + dy) * columns.length + column.k + dx];
      const upper = at(0, 0) + column.part * (at(0, 1) - at(0, 0));
      const lower = at(1, 0) + column.part * (at(1, 1) - at(1, 0));
      out[n] = upper + row.part * (lower - upper);
    }
  }
  return out;
}

/** Round error levels, two or three a decade, as powers of ten. */
function levelsFor(logs: readonly number[]): number[] {
  const low = Math.min(...logs);
  const high = Math.max(...logs);
  const digits = high - low > 2 ? [1, 3] : [1, 2, 5];
  const levels: number[] = [];
  for (let decade = Math.floor(low); decade <= Math.ceil(high); decade++)
    for (const digit of digits) levels.push(decade + Math.log10(digit));
  return levels.filter((level) => level > low && level < high);
}

/**
 * Where each contour gets its number: between two neighbors along x whose errors lie on either side of the
 * level.
 */
function labelPlaces(rows: readonly SweepRow[], levels: readonly number[], xAxis: Axis, yAxis: Axis) {
  const value = (row: SweepRow) => Math.log10(row.noiseEquivalentArcsec?.value ?? Number.NaN);
  const places: { x: number; y: number; series: string; text: string }[] = [];
  for (const series of new Set(rows.map(seriesOf))) {
    const mine = rows.filter((row) => seriesOf(row) === series);
    const lines = [...new Set(mine.map((row) => placeOf(row, yAxis)))];
    levels.forEach((level, n) => {
      // Labels step from line to line, so that neighbors do not touch; those on the border come last.
      const inner = lines.slice(1, -1);
      const turned = inner.map((_, k) => inner[(2 * n + k) % inner.length]);
      for (const y of [...turned, lines[0], lines[lines.length - 1]]) {
        const line = mine
          .filter((row) => placeOf(row, yAxis) === y)
          .sort((a, b) => placeOf(a, xAxis) - placeOf(b, xAxis));
        const at = line.findIndex(
          (row, i) => i > 0 && (value(line[i - 1]) - level) * (value(row) - level) <= 0,
        );
        if (at < 1) continue;
        const part = (level - value(line[at - 1])) / (value(line[at]) - value(line[at - 1]) || 1);
        const x0 = placeOf(line[at - 1], xAxis);
        places.push({
          x: x0 + part * (placeOf(line[at], xAxis) - x0),
          y,
          series,
          text: significant(10 ** level, 1),
        });
        break;
      }
    });
  }
  return places;
}
