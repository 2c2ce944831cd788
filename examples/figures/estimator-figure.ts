/** Error over the least possible one against the ring's diameter: a panel for each signal-to-noise ratio. */

import * as Plot from '@observablehq/plot';
import { type ComparedCell, comparedNames } from '../reports/estimator-comparison.ts';
import { tickText } from './axis-ticks.ts';
import { methodStyle } from './estimator-mark.ts';
import { type FigureOptions, letterPx, place, sheet, svgElement } from './figure.ts';
import { lightInks } from './inks.ts';

/** Far above, the numbers do not matter any more: lines end there. */
const mostShown = 4;

const panelHeight = 150;
const headPx = 22;
const leftPx = 58;
const keyPx = 150;
const keyRowPx = 22;
const footPx = 44;

interface Point {
  readonly name: keyof typeof comparedNames;
  readonly ring: number;
  readonly ratio: number;
}

export function estimatorFigure(cells: readonly ComparedCell[], options: FigureOptions = {}): SVGSVGElement {
  const { document = globalThis.document, width = 760, inks = lightInks } = options;
  const snrs = [...new Set(cells.map(({ snr }) => snr))];
  const rings = [...new Set(cells.map(({ outerDiameterPx }) => outerDiameterPx))];
  const points = (snr: number): Point[] =>
    cells
      .filter((cell) => cell.snr === snr)
      .flatMap(({ outerDiameterPx, estimators }) =>
        estimators.flatMap(({ estimator, boundRatio }) =>
          boundRatio === undefined ? [] : [{ name: estimator, ring: outerDiameterPx, ratio: boundRatio }],
        ),
      );
  const domain = [0.85, mostShown];
  const ticks = [1, 1.5, 2, 3, 4];
  const names = Object.keys(comparedNames) as (keyof typeof comparedNames)[];
  const panels = snrs.map((snr, row) => {
    const here = points(snr);
    const isLast = row === snrs.length - 1;
    const plot = Plot.plot({
      document,
      width: width - keyPx,
      height: panelHeight + (isLast ? 24 : 0),
      marginLeft: leftPx,
      marginRight: 12,
      marginTop: 6,
      marginBottom: isLast ? 28 : 6,
      x: { domain: [rings[0], rings[rings.length - 1]], axis: null, inset: 8 },
      y: { type: 'log', domain, axis: null },
      marks: [
        Plot.gridY(ticks, { stroke: inks.rule, strokeOpacity: 0.7 }),
        Plot.ruleY([1.05], { stroke: inks.faint, strokeDasharray: '1 3' }),
        Plot.ruleY([1], { stroke: inks.faint }),
        ...names.flatMap((name) => {
          const line = here.filter((point) => point.name === name);
          const { ink, dash, symbol } = methodStyle(name);
          return [
            Plot.line(line, { x: 'ring', y: 'ratio', stroke: inks[ink], strokeDasharray: dash, clip: true }),
            Plot.dot(
              line.filter(({ ratio }) => ratio <= mostShown),
              { x: 'ring', y: 'ratio', symbol, r: 3.2, stroke: inks[ink], fill: inks.paper },
            ),
          ];
        }),
        // A log axis hides labels that a tickFormat gives, but not those given as text.
        Plot.axisY(ticks, { label: null, fontSize: letterPx, tickSize: 4, text: tickText }),
        ...(isLast ? [Plot.axisX(rings, { label: null, fontSize: letterPx, tickSize: 4 })] : []),
        Plot.text([`SNR ${snr}`], {
          frameAnchor: 'top-left',
          dx: 12,
          dy: 8,
          fill: inks.ink,
          stroke: inks.paper,
          strokeWidth: 4,
          fontSize: letterPx,
        }),
      ],
    });
    return place(plot, 0, headPx + row * panelHeight, document);
  });
  const height = headPx + snrs.length * panelHeight + footPx;
  const key = Plot.plot({
    document,
    width: keyPx,
    height: keyRowPx * names.length,
    margin: 0,
    x: { domain: [0, keyPx], axis: null },
    y: { domain: [names.length - 0.5, -0.5], axis: null },
    marks: names.flatMap((name, row) => {
      const { ink, dash, symbol } = methodStyle(name);
      return [
        Plot.ruleY([row], { x1: 12, x2: 42, stroke: inks[ink], strokeWidth: 1.5, strokeDasharray: dash }),
        Plot.dot([row], { x: 27, y: row, r: 3.2, symbol, stroke: inks[ink], fill: inks.paper }),
        Plot.text([comparedNames[name]], {
          x: 50,
          y: row,
          text: (label: string) => label,
          textAnchor: 'start',
          fill: inks[ink],
          fontSize: letterPx,
        }),
      ];
    }),
  });
  return sheet(
    options,
    { width, height, alternative: alternativeOf(cells) },
    svgElement(
      document,
      'text',
      { x: leftPx, y: 14 },
      'Rms error of the position over the least possible one',
    ),
    ...panels,
    place(key, width - keyPx, headPx, document),
    svgElement(
      document,
      'text',
      { x: (width - keyPx + leftPx) / 2, y: height - 8, 'text-anchor': 'middle' },
      'outer diameter of the ring, px',
    ),
  );
}

/** The figure for those who hear it: its first and its last panel, at both ends. */
function alternativeOf(cells: readonly ComparedCell[]): string {
  const told = [cells[0], cells[cells.length - 1]].map(({ outerDiameterPx, snr, estimators }) => {
    const ratios = estimators
      .filter(({ boundRatio }) => boundRatio !== undefined)
      .map(({ estimator, boundRatio }) => `${comparedNames[estimator]} ${(boundRatio as number).toFixed(2)}`);
    return `Ring of ${outerDiameterPx} px at an SNR of ${snr}: ${ratios.join(', ')}.`;
  });
  return `Rms error of the position of each method over the least possible error, against the outer diameter of the ring. ${told.join(' ')}`;
}
