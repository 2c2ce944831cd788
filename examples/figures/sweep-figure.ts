/** A sweep as a figure: lines over one axis that varies, or maps over two, with the budget drawn in. */
import { noiseWithinBudgetArcsec, type Rig, type SweepRow } from '@holdfast/sim';
import { intervalOf } from '@holdfast/sim/internal';
import * as Plot from '@observablehq/plot';
import { errorMapFigure } from './error-map.ts';
import { methodStyle } from './estimator-mark.ts';
import type { FigureOptions } from './figure.ts';
import { lightInks } from './inks.ts';
import { type Axis, framed, plain, seriesOf } from './sweep-axes.ts';

/**
 * Noise-equivalent error in arcsec over one or two axes; the dotted line is the largest error that the rig's
 * budget allows. A setting without a position leaves a gap.
 */
export function sweepFigure(
  rig: Rig,
  rows: readonly SweepRow[],
  [first, second]: readonly [Axis, Axis?],
  options: FigureOptions = {},
): SVGSVGElement {
  return second === undefined
    ? linesFigure(rig, rows, first, options)
    : errorMapFigure(rig, rows, first, second, options);
}

function linesFigure(rig: Rig, rows: readonly SweepRow[], axis: Axis, options: FigureOptions): SVGSVGElement {
  const { document = globalThis.document, width = 760, inks = lightInks } = options;
  const allowed = noiseWithinBudgetArcsec(rig);
  const measured = rows.filter((row) => row.noiseEquivalentArcsec !== undefined);
  const inkOf = (row: SweepRow) => inks[methodStyle(row.estimator).ink];
  const band = (row: SweepRow) =>
    intervalOf(row.noiseEquivalentArcsec as NonNullable<typeof row.noiseEquivalentArcsec>);
  const plot = Plot.plot({
    document,
    width,
    height: 380,
    marginLeft: 62,
    marginBottom: 42,
    marginRight: 190,
    x: { label: null },
    y: { type: 'log', label: null, grid: true, tickFormat: plain },
    marks: [
      Plot.ruleY([allowed], { stroke: inks.accent, strokeDasharray: '1 3', strokeWidth: 1.4 }),
      Plot.line(rows, {
        x: axis,
        y: (row: SweepRow) => row.boundPx * row.arcsecPerPx,
        stroke: inks.faint,
        z: null,
      }),
      Plot.ruleX(measured, {
        x: axis,
        y1: (row: SweepRow) => Math.max(1e-6, band(row).low),
        y2: (row: SweepRow) => band(row).high,
        stroke: inkOf,
      }),
      Plot.line(measured, {
        x: axis,
        y: (row: SweepRow) => row.noiseEquivalentArcsec?.value,
        z: seriesOf,
        stroke: inkOf,
        strokeWidth: 0.8,
      }),
      Plot.dot(measured, {
        x: axis,
        y: (row: SweepRow) => row.noiseEquivalentArcsec?.value,
        symbol: (row: SweepRow) => methodStyle(row.estimator).symbol,
        stroke: inkOf,
        fill: inks.paper,
      }),
      Plot.text(
        measured,
        Plot.selectLast({
          x: axis,
          y: (row: SweepRow) => row.noiseEquivalentArcsec?.value,
          z: seriesOf,
          text: seriesOf,
          textAnchor: 'start',
          dx: 8,
          fill: inkOf,
        }),
      ),
    ],
  });
  return framed(rows, axis, 'noise-equivalent error, one axis, arcsec (log)', plot, 380, {
    ...options,
    document,
    width,
  });
}
