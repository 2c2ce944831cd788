/** Marks that both panels of the error curve share. */
import * as Plot from '@observablehq/plot';
import type { CurveData, CurveGap, CurveLine, CurvePoint } from './curve-data.ts';
import { type Inks, lineStyle } from './inks.ts';

/** An estimator's line with its 95 % bars and its markers; the rig's own is the heavier one. */
export function lineMarks(
  { index, own }: CurveLine,
  points: readonly (CurvePoint | CurveGap)[],
  inks: Inks,
  dx = 0,
): Plot.Markish[] {
  const { ink, dash, symbol } = lineStyle(index);
  const stroke = inks[ink];
  const at = { x: 'x', y: 'y', dx, stroke };
  return [
    Plot.lineY(points, { ...at, strokeWidth: own ? 2.4 : 1.4, strokeDasharray: dash }),
    Plot.ruleX(points, { x: 'x', y1: 'low', y2: 'high', dx, stroke, strokeWidth: 1.2 }),
    Plot.dot(points, { ...at, r: own ? 3.5 : 2.8, symbol, fill: own ? stroke : inks.paper }),
  ];
}

/** The focus limit as a line, its 95 % interval as a band. */
export function limitMarks({ limit }: CurveData, y1: number, y2: number, inks: Inks): Plot.Markish[] {
  if (limit === undefined) return [];
  return [
    Plot.rect([limit], { x1: 'low', x2: 'high', y1, y2, fill: inks.accent, fillOpacity: 0.13 }),
    Plot.ruleX([limit.value], { stroke: inks.accent, strokeWidth: 1.2 }),
  ];
}

/** What the budget allows. */
export function budgetMark(value: number, inks: Inks): Plot.Markish {
  return Plot.ruleY([value], {
    stroke: inks.ink,
    strokeWidth: 1.2,
    strokeDasharray: '1 3',
    strokeLinecap: 'round',
  });
}

/** The frame: the axes as lines. */
export function frameMarks(farthestUm: number, low: number, inks: Inks): Plot.Markish[] {
  return [
    Plot.ruleX([0, farthestUm], { stroke: inks.ink, strokeWidth: 0.8 }),
    Plot.ruleY([low], { stroke: inks.ink, strokeWidth: 0.8 }),
  ];
}
