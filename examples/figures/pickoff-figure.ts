/** What each depth of a pick-off gives, and the light that its edge diffracts into the picture. */

import type { PickoffTradeOff, Rig } from '@holdfast/sim';
import { type EdgeLight, significant } from '@holdfast/sim/internal';
import * as Plot from '@observablehq/plot';
import { type FigureOptions, letterPx, place, sheet, svgElement } from './figure.ts';
import { type Inks, lightInks } from './inks.ts';
import { shown } from './number-words.ts';

export interface PickoffFigure {
  readonly rig: Rig;
  /** With limits. */
  readonly tradeOff: PickoffTradeOff;
  /** Undefined where no star of the picture has the mirror's edge in its beam. */
  readonly edge: EdgeLight | undefined;
}

const width = 640;
const panelPx = 232;
const headPx = 46;

/**
 * Noise-equivalent error and focus limit against depth; brightness of the spikes against the distance from
 * the star.
 */
export function pickoffFigure(
  { rig, tradeOff, edge }: PickoffFigure,
  options: FigureOptions = {},
): SVGSVGElement {
  const { document = globalThis.document, inks = lightInks } = options;
  const depths = tradeOff.depths.flatMap(({ edgeFromAxisMm, isAllowed, limits }) =>
    limits === undefined ? [] : [{ mm: edgeFromAxisMm, isAllowed, ...limits }],
  );
  type Depth = (typeof depths)[number];
  const best = tradeOff.best?.edgeFromAxisMm;
  const ends = [Math.min(...depths.map(({ mm }) => mm)), Math.max(...depths.map(({ mm }) => mm))];
  const byDepth = (value: (depth: Depth) => number | undefined, label: string, y: Plot.ScaleOptions = {}) => {
    const points = depths.flatMap((depth) => {
      const height = value(depth);
      return height === undefined ? [] : [{ x: depth.mm, y: height, isAllowed: depth.isAllowed }];
    });
    const marks = [
      ...(best === undefined ? [] : [Plot.ruleX([best], { stroke: inks.faint, strokeDasharray: '3 3' })]),
      Plot.lineY(points, { x: 'x', y: 'y', stroke: inks.accent }),
      Plot.dot(points, {
        x: 'x',
        y: 'y',
        r: 3.5,
        stroke: inks.accent,
        fill: (point) => (point.isAllowed ? inks.accent : inks.paper),
      }),
    ];
    const scales = { x: { domain: ends }, y };
    return panel(document, inks, label, 'inner edge of the mirror, mm from the axis', marks, scales);
  };
  const panels = [
    byDepth((depth) => depth.noiseEquivalentArcsec, 'noise-equivalent error, arcsec', {
      type: 'log',
      tickFormat: (arcsec: number) => significant(arcsec, 1),
    }),
    byDepth((depth) => depth.focusLimitUm, 'focus limit, µm'),
    ...(edge === undefined
      ? []
      : [
          panel(
            document,
            inks,
            'spike, mag per square arcsec below the star',
            'distance from the star, arcsec',
            [
              Plot.lineY(edge.profile, {
                x: 'arcsec',
                y: 'magPerArcsec2',
                stroke: inks.accent,
                marker: 'dot',
              }),
            ],
            { x: { type: 'log' }, y: { reverse: true } },
          ),
        ]),
  ];
  const captions = [
    'Filled: no pixel of the main sensor loses more than allowed; dashed: the best depth. By formula.',
    edge === undefined
      ? "No star of the picture has the mirror's edge in its beam: there is no spike."
      : `Spikes of the star whose beam is cut most: ${edge.belowStarMag.toFixed(1)} mag below it in all, from 5 arcsec on.`,
  ];
  const height = headPx + panels.length * panelPx + 40;
  return sheet(
    { document, inks, paper: options.paper ?? false },
    { width, height, alternative: `${rig.name}: depth of the pick-off. ${captions.join(' ')}` },
    svgElement(document, 'text', { x: 0, y: 22, 'font-size': 19 }, shown(rig.name)),
    ...panels.map((plot, k) => place(plot, 0, headPx + k * panelPx, document)),
    ...captions.map((line, k) =>
      svgElement(document, 'text', { x: 0, y: height - 26 + 18 * k, 'font-size': letterPx - 1 }, shown(line)),
    ),
  );
}

function panel(
  document: Document,
  inks: Inks,
  y: string,
  x: string,
  marks: readonly Plot.Markish[],
  scales: { readonly x?: Plot.ScaleOptions; readonly y?: Plot.ScaleOptions } = {},
): Element {
  return Plot.plot({
    document,
    width,
    height: panelPx,
    marginLeft: 64,
    marginBottom: 56,
    marginTop: 30,
    style: { fontSize: `${letterPx}px` },
    x: { label: x, labelAnchor: 'center', labelArrow: 'none', labelOffset: 36, ...scales.x },
    y: {
      label: y,
      labelArrow: 'none',
      ticks: 5,
      ...(scales.y === undefined || Object.keys(scales.y).length === 0 ? { zero: true } : {}),
      ...scales.y,
    },
    marks: [Plot.gridY({ stroke: inks.rule, strokeOpacity: 0.7 }), ...marks],
  });
}
