/**
 * The error curve's upper panel: noise-equivalent error of each method, the least possible one, and what the
 * budget allows.
 */
import * as Plot from '@observablehq/plot';
import { logTicks, tickText } from './axis-ticks.ts';
import type { CurveData } from './curve-data.ts';
import type { CurveLayout } from './curve-layout.ts';
import { budgetMark, frameMarks, limitMarks, lineMarks } from './curve-marks.ts';
import { letterPx } from './figure.ts';
import type { Inks } from './inks.ts';
import { shown } from './number-words.ts';

/** Its margin above and below, px: markers at the edge need it. */
export const panelMargin = 6;

export function errorPanel(data: CurveData, layout: CurveLayout, document: Document, inks: Inks): Element {
  const { width, left, right, errorHeight, farthestUm } = layout;
  const { low, high } = data.errorRange;
  const { arcsecPerPx } = data;
  const ticks = logTicks(low, high, 8);
  const pxTicks = logTicks(low / arcsecPerPx, high / arcsecPerPx, 8);
  const axis = { label: null, fontSize: letterPx, tickSize: 4 };
  return Plot.plot({
    document,
    width,
    height: errorHeight + 2 * panelMargin,
    marginTop: panelMargin,
    marginBottom: panelMargin,
    marginLeft: left,
    marginRight: right,
    x: { domain: [0, farthestUm], axis: null },
    y: { type: 'log', domain: [low, high], axis: null },
    marks: [
      Plot.gridY(ticks, { stroke: inks.rule, strokeOpacity: 0.7 }),
      Plot.areaY(data.bound, { x: 'x', y1: low, y2: 'y', fill: inks.ink, fillOpacity: 0.07 }),
      ...limitMarks(data, low, high, inks),
      ...limitName(data, farthestUm, inks),
      budgetMark(data.budgetArcsec, inks),
      Plot.lineY(data.bound, { x: 'x', y: 'y', stroke: inks.faint, strokeWidth: 1 }),
      ...data.lines.flatMap((line) => lineMarks(line, line.points, inks)),
      // A log axis hides labels that a tickFormat gives, but not those given as text.
      Plot.axisY(ticks, { ...axis, anchor: 'left', text: tickText }),
      Plot.axisY(
        pxTicks.map((px) => px * arcsecPerPx),
        { ...axis, anchor: 'right', text: (arcsec: number) => tickText(arcsec / arcsecPerPx) },
      ),
      ...frameMarks(farthestUm, low, inks),
    ],
  });
}

/** At the foot of the panel, on the side with more room. */
function limitName({ limit, errorRange }: CurveData, farthestUm: number, inks: Inks): Plot.Markish[] {
  if (limit === undefined) return [];
  const isFar = limit.value > 0.55 * farthestUm;
  return [
    Plot.text([limit], {
      x: 'value',
      y: errorRange.low,
      text: () => shown(`focus limit ${limit.text} µm`),
      textAnchor: isFar ? 'end' : 'start',
      dx: isFar ? -6 : 6,
      dy: -10,
      fill: inks.accent,
      stroke: inks.paper,
      strokeWidth: 4,
    }),
  ];
}
