/** Errors of many frames as clouds of points, one plot per method, all to one scale. */
import type { Estimate } from '@holdfast/sim';
import { estimatorLabels, rmsPerAxis } from '@holdfast/sim/internal';
import { estimatorMark, methodStyle } from '../../figures/estimator-mark.ts';
import { type FigureOptions, sheet, svgElement } from '../../figures/figure.ts';
import { type Inks, lightInks } from '../../figures/inks.ts';
import { estimateText, shown } from '../../figures/number-words.ts';
import type { PositionCloud } from '../compute/position-cloud.ts';
import { errorPlot } from './error-plot.ts';

const gap = 18;
const lines = 4;
const linePx = 18;

export function cloudPlates(
  clouds: readonly PositionCloud[],
  boundPx: number,
  options: FigureOptions,
): SVGSVGElement {
  const { document = globalThis.document, width = 760, inks = lightInks } = options;
  const columns = Math.min(clouds.length, width < 560 ? 2 : 3);
  const side = Math.floor((width - gap * (columns - 1)) / columns);
  const reach = reachOf(clouds, boundPx);
  const rowHeight = side + linePx * lines + 26;
  const plates = clouds.map((cloud, i) =>
    svgElement(
      document,
      'g',
      { transform: `translate(${(i % columns) * (side + gap)} ${Math.floor(i / columns) * rowHeight})` },
      ...plateOf(cloud, reach, side, document, inks),
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
  const sizes = clouds
    .filter(({ errorX }) => errorX.length > 1)
    .map(({ errorX, errorY }) => rmsPerAxis(errorX, errorY).value)
    .sort((a, b) => a - b);
  const wanted = 3.2 * Math.max(boundPx, sizes[Math.floor((sizes.length - 1) / 2)] ?? boundPx);
  const decade = 10 ** Math.floor(Math.log10(wanted));
  return decade * ([1, 2, 5, 10].find((step) => step * decade >= wanted) ?? 10);
}

function plateOf(cloud: PositionCloud, reach: number, side: number, document: Document, inks: Inks): Node[] {
  const { estimator, errorX, errorY } = cloud;
  const ink = inks[methodStyle(estimator).ink];
  let outside = 0;
  for (let i = 0; i < errorX.length; i++)
    if (Math.abs(errorX[i]) > reach || Math.abs(errorY[i]) > reach) outside++;
  const words = wordsOf(cloud);
  return [
    ...errorPlot({ errorX, errorY, reach, unit: 'px', ink }, side, document, inks),
    estimatorMark(estimator, 8, side + linePx - 4, 4, document, inks),
    ...[estimatorLabels[estimator], ...words.error, words.lost(outside)].map((line, i) =>
      svgElement(
        document,
        'text',
        { x: i === 0 ? 20 : 0, y: side + linePx * (i + 1), ...(i === 0 ? { fill: ink } : {}) },
        line,
      ),
    ),
  ];
}

function wordsOf({ errorX, errorY, lost }: PositionCloud): {
  error: string[];
  lost: (outside: number) => string;
} {
  const parts = errorX.length > 1 ? offsetAndScatter(errorX, errorY) : undefined;
  return {
    error: parts
      ? [`offset ${estimateText(parts.offset, 'px')}`, `scatter ${estimateText(parts.scatter, 'px')}`]
      : ['no position'],
    lost: (outside) => `${lost} lost${outside > 0 ? `, ${outside} beyond` : ''}`,
  };
}

/** Length of the mean error, and the rest around it, one axis, px. */
function offsetAndScatter(
  errorX: Float64Array,
  errorY: Float64Array,
): { offset: Estimate; scatter: Estimate } {
  const mean = (errors: Float64Array) => errors.reduce((a, b) => a + b, 0) / errors.length;
  const [x, y] = [mean(errorX), mean(errorY)];
  const scatter = rmsPerAxis(
    errorX.map((error) => error - x),
    errorY.map((error) => error - y),
  );
  const standardError = scatter.value / Math.sqrt(errorX.length);
  return { offset: { value: Math.sqrt(x * x + y * y), standardError }, scatter };
}

function alternativeOf(clouds: readonly PositionCloud[], boundPx: number): string {
  const told = clouds.map((cloud) => {
    const { error } = wordsOf(cloud);
    return `${estimatorLabels[cloud.estimator]}: ${error.join(', ')}, ${cloud.lost} of ${cloud.lost + cloud.errorX.length} frames lost`;
  });
  return shown(
    `Error of the position (measured minus true) in each frame. Least possible error ${boundPx.toPrecision(3)} px. ${told.join('; ')}.`,
  );
}
