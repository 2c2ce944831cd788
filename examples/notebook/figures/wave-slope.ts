/** Delay of the wave across the pupil, its slope, and the mean of the slope over the light that arrives. */

import { significant } from '@holdfast/sim/internal';
import * as Plot from '@observablehq/plot';
import { type FigureOptions, letterPx, place, sheet, svgElement } from '../../figures/figure.ts';
import { lightInks } from '../../figures/inks.ts';
import { shown } from '../../figures/number-words.ts';
import { plainFixed } from './fixed.ts';

export interface WaveSlope {
  readonly focusShiftUm: number;
  readonly fNumber: number;
  readonly obstructionRatio: number;
  readonly clipDistance: number;
  /** Shift of the center of mass by the mean slope, um. */
  readonly meanSlopeUm: number;
  readonly pixelUm: number;
}

export function waveSlope(wave: WaveSlope, options: FigureOptions): SVGSVGElement {
  const { document = globalThis.document, width = 760, inks = lightInks } = options;
  const { focusShiftUm, fNumber, obstructionRatio, clipDistance, meanSlopeUm } = wave;
  const narrow = width < 560;
  const panelWidth = narrow ? width : Math.floor((width - 24) / 2);
  const panelHeight = 230;
  const at = Array.from({ length: 81 }, (_, i) => -1 + i / 40);
  const open = (xi: number) => Math.abs(xi) >= obstructionRatio && xi <= clipDistance;
  // W = -dz xi^2 / (8 F^2); light lands at 2 F dW/dxi = -dz xi / (2 F).
  const delay = at.map((xi) => ({
    xi,
    y: (-focusShiftUm * xi * xi) / (8 * fNumber * fNumber),
    open: open(xi),
  }));
  const landing = at.map((xi) => ({ xi, y: (-focusShiftUm * xi) / (2 * fNumber), open: open(xi) }));
  const dark = [
    ...(obstructionRatio > 0 ? [{ x1: -obstructionRatio, x2: obstructionRatio }] : []),
    ...(clipDistance < 1 ? [{ x1: clipDistance, x2: 1 }] : []),
  ];
  const panel = (points: typeof delay, more: Plot.Markish[]) => {
    const ys = points.map(({ y }) => y);
    const span = Math.max(...ys) - Math.min(...ys) || 1;
    return Plot.plot({
      document,
      width: panelWidth,
      height: panelHeight,
      marginLeft: 54,
      marginRight: 14,
      marginTop: 8,
      marginBottom: 26,
      x: { domain: [-1, 1], axis: null },
      y: { domain: [Math.min(...ys) - 0.06 * span, Math.max(...ys) + 0.06 * span], axis: null },
      marks: [
        Plot.rect(dark, {
          x1: 'x1',
          x2: 'x2',
          y1: Math.min(...ys) - 0.06 * span,
          y2: Math.max(...ys) + 0.06 * span,
          fill: inks.ink,
          fillOpacity: 0.1,
        }),
        Plot.ruleY([0], { stroke: inks.rule }),
        Plot.lineY(points, { x: 'xi', y: 'y', stroke: inks.faint, strokeDasharray: '2 3' }),
        Plot.lineY(points, {
          x: 'xi',
          y: (d: { y: number; open: boolean }) => (d.open ? d.y : undefined),
          stroke: inks.ink,
          strokeWidth: 2.2,
        }),
        ...more,
        Plot.axisY({ label: null, fontSize: letterPx, tickSize: 4, ticks: 5, anchor: 'left' }),
        Plot.axisX([-1, -0.5, 0, 0.5, 1], { label: null, fontSize: letterPx, tickSize: 4, anchor: 'bottom' }),
      ],
    });
  };
  const mean = [
    Plot.ruleY([meanSlopeUm], { stroke: inks.accent, strokeWidth: 2 }),
    Plot.text([meanSlopeUm], {
      x: () => -0.97,
      y: (d: number) => d,
      text: () => 'mean over the light',
      textAnchor: 'start' as const,
      dy: -9,
      fill: inks.accent,
      stroke: inks.paper,
      strokeWidth: 4,
    }),
  ];
  const title = (words: string, x: number, y: number) =>
    svgElement(document, 'text', { x, y, 'font-style': 'italic' }, words);
  const second = narrow ? { x: 0, y: panelHeight + 60 } : { x: panelWidth + 24, y: 0 };
  const height = (narrow ? 2 * panelHeight + 60 : panelHeight) + 48;
  const foot = (x: number, y: number) =>
    svgElement(
      document,
      'text',
      { x: x + 54 + (panelWidth - 68) / 2, y: y + panelHeight + 38, 'text-anchor': 'middle' },
      'place across the pupil, radii',
    );
  return sheet(
    options,
    { width, height, alternative: alternativeOf(wave) },
    title('delay of the wave, µm', 4, 14),
    place(panel(delay, []), 0, 20, document),
    foot(0, 0),
    title('where the light lands, µm', second.x + 4, second.y + 14),
    place(panel(landing, mean), second.x, second.y + 20, document),
    foot(second.x, second.y),
  );
}

function alternativeOf({
  focusShiftUm,
  fNumber,
  obstructionRatio,
  clipDistance,
  meanSlopeUm,
  pixelUm,
}: WaveSlope): string {
  const rim = (Math.abs(focusShiftUm) / (8 * fNumber * fNumber)).toPrecision(3);
  return shown(
    `Delay of the wave across the pupil at a focus shift of ${focusShiftUm} µm and F/${significant(fNumber, 3)}: ${rim} µm at the rim. ` +
      `Obstruction ratio ${obstructionRatio}${clipDistance < 1 ? `, light only to ${clipDistance} radii` : ''}. ` +
      `The mean slope moves the center of mass by ${plainFixed(meanSlopeUm, 2)} µm, ${plainFixed(meanSlopeUm / pixelUm, 3)} px.`,
  );
}
