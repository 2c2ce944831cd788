/** The error curve's lower panel: the share of frames without a position. */
import * as Plot from '@observablehq/plot';
import { evenTicks, rootTicks, tickText } from './axis-ticks.ts';
import type { CurveData } from './curve-data.ts';
import type { CurveLayout } from './curve-layout.ts';
import { budgetMark, frameMarks, limitMarks, lineMarks } from './curve-marks.ts';
import { panelMargin } from './error-panel.ts';
import { letterPx } from './figure.ts';
import type { Inks } from './inks.ts';

export function lostPanel(data: CurveData, layout: CurveLayout, document: Document, inks: Inks): Element {
  const { width, left, right, lostHeight, farthestUm } = layout;
  const ticks = rootTicks(data.lostHigh, lostHeight, 19);
  const axis = { fontSize: letterPx, tickSize: 4, tickFormat: tickText };
  return Plot.plot({
    document,
    width,
    height: lostHeight + panelMargin + 44,
    marginTop: panelMargin,
    marginBottom: 44,
    marginLeft: left,
    marginRight: right,
    x: { domain: [0, farthestUm] },
    y: { type: 'sqrt', domain: [0, data.lostHigh], axis: null },
    marks: [
      Plot.gridY(ticks, { stroke: inks.rule, strokeOpacity: 0.7 }),
      ...limitMarks(data, 0, data.lostHigh, inks),
      budgetMark(data.lostBudget, inks),
      // Beside one another: most are 0, and would hide each other. None stands on the numbers at the left.
      ...data.lines.flatMap((line, i) => lineMarks(line, line.lost, inks, 4 * i)),
      Plot.axisY(ticks, { ...axis, anchor: 'left', label: null }),
      Plot.axisX({
        ...axis,
        ticks: evenTicks(data.farthestUm, width < 560 ? 4 : 8),
        label: 'distance of the guide sensor from best focus, µm',
        labelAnchor: 'center',
        labelArrow: 'none',
        labelOffset: 38,
      }),
      ...frameMarks(farthestUm, 0, inks),
    ],
  });
}
