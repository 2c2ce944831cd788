/** Errors of many frames as clouds of dots, one plate a way of measuring, all to one scale. */
import { estimatorNames } from '@holdfast/sim';
import { estimatorLabels, rmsPerAxis } from '@holdfast/sim/internal';
import { tickText } from '../../figures/axis-ticks.ts';
import { type FigureOptions, sheet, svgElement } from '../../figures/figure.ts';
import { type Inks, lightInks, lineStyle } from '../../figures/inks.ts';
import { estimateText, shown } from '../../figures/number-words.ts';
import type { PositionCloud } from '../compute/position-cloud.ts';

const gap = 18;
const lines = 3;
const linePx = 18;

export function cloudPlates(
  clouds: readonly PositionCloud[],
  boundPx: number,
  options: FigureOptions,
): SVGSVGElement {
  const { document = globalThis.document, width = 760, inks = lightInks } = options;
  const columns = Math.min(clouds.length, width < 560 ? 2 : Math.max(3, Math.min(4, clouds.length)));
  const side = Math.floor((width - gap * (columns - 1)) / columns);
  const reach = reachOf(clouds, boundPx);
  const rowHeight = side + linePx * lines + 26;
  const plates = clouds.map((cloud, i) =>
    svgElement(
      document,
      'g',
      { transform: `translate(${(i % columns) * (side + gap)} ${Math.floor(i / columns) * rowHeight})` },
      ...plateOf(cloud, boundPx, reach, side, document, inks),
    ),
  );
  return sheet(
    options,
    {
      width,
      height: Math.ceil(clouds.length / columns) * rowHeight - 12,
      alternative: alternativeOf(clouds, boundPx),
    },
    ...plates,
  );
}

/** A round distance that holds nearly all dots of the tightest half of the clouds. */
function reachOf(clouds: readonly PositionCloud[], boundPx: number): number {
  const rms = clouds
    .filter(({ errorX }) => errorX.length > 1)
    .map(({ errorX, errorY }) => rmsPerAxis(errorX, errorY).value)
    .sort((a, b) => a - b);
  const wanted = 3.2 * Math.max(boundPx, rms[Math.floor((rms.length - 1) / 2)] ?? boundPx);
  const decade = 10 ** Math.floor(Math.log10(wanted));
  return decade * ([1, 2, 5, 10].find((step) => step * decade >= wanted) ?? 10);
}

function plateOf(
  cloud: PositionCloud,
  boundPx: number,
  reach: number,
  side: number,
  document: Document,
  inks: Inks,
): Node[] {
  const { estimator, errorX, errorY } = cloud;
  const ink = inks[lineStyle(estimatorNames.indexOf(estimator)).ink];
  const half = side / 2;
  const at = (error: number) => half + (half * error) / reach;
  let dots = '';
  let outside = 0;
  for (let i = 0; i < errorX.length; i++) {
    if (Math.abs(errorX[i]) > reach || Math.abs(errorY[i]) > reach) outside++;
    else dots += `M${at(errorX[i]).toFixed(1)} ${at(errorY[i]).toFixed(1)}h0`;
  }
  const circle = (r: number, stroke: string, dash: string) =>
    svgElement(document, 'circle', {
      cx: half,
      cy: half,
      r: Math.min(half, (half * r) / reach),
      fill: 'none',
      stroke,
      'stroke-width': 1.6,
      'stroke-dasharray': dash,
    });
  const words = wordsOf(cloud);
  return [
    svgElement(document, 'rect', { width: side, height: side, fill: 'none', stroke: inks.rule }),
    svgElement(document, 'path', { d: `M${half} 0V${side}M0 ${half}H${side}`, stroke: inks.rule }),
    svgElement(document, 'path', {
      d: dots,
      fill: 'none',
      stroke: ink,
      'stroke-width': 2.2,
      'stroke-linecap': 'round',
      'stroke-opacity': 0.45,
    }),
    circle(boundPx, inks.ink, 'none'),
    ...(words.rms === undefined ? [] : [circle(words.rms, ink, '4 3')]),
    svgElement(
      document,
      'text',
      { x: side - 4, y: side - 6, 'text-anchor': 'end', fill: inks.faint },
      `± ${tickText(reach)} px`,
    ),
    ...[estimatorLabels[estimator], words.error, words.lost(outside)].map((line, i) =>
      svgElement(
        document,
        'text',
        { y: side + linePx * (i + 1), ...(i === 0 ? { 'font-weight': 'bold', fill: ink } : {}) },
        line,
      ),
    ),
  ];
}

function wordsOf({ errorX, errorY, lost }: PositionCloud): {
  rms: number | undefined;
  error: string;
  lost: (outside: number) => string;
} {
  const rms = errorX.length > 1 ? rmsPerAxis(errorX, errorY) : undefined;
  return {
    rms: rms?.value,
    error: rms ? shown(`rms ${estimateText(rms, 'px')}`) : 'no position',
    lost: (outside) => `${lost} lost${outside > 0 ? `, ${outside} beyond` : ''}`,
  };
}

function alternativeOf(clouds: readonly PositionCloud[], boundPx: number): string {
  const told = clouds.map((cloud) => {
    const { error } = wordsOf(cloud);
    return `${estimatorLabels[cloud.estimator]}: ${error}, ${cloud.lost} of ${cloud.lost + cloud.errorX.length} frames lost`;
  });
  return shown(
    `Measured less true position, frame by frame. Least possible error ${boundPx.toPrecision(3)} px. ${told.join('; ')}.`,
  );
}
