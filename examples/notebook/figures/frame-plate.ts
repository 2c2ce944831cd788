/** One frame, large, with the true place of the star and every measured one. */
import type { EstimatorName } from '@holdfast/sim';
import { estimatorLabels } from '@holdfast/sim/internal';
import { estimatorMark, methodStyle } from '../../figures/estimator-mark.ts';
import { type FigureOptions, halo, sheet, svgElement } from '../../figures/figure.ts';
import { type Inks, lightInks } from '../../figures/inks.ts';
import { shown } from '../../figures/number-words.ts';
import type { FramePosition, MeasuredFrame } from '../compute/one-frame.ts';
import { errorAxes } from './error-plot.ts';
import { framedPixels } from './pixel-plate.ts';

/** Side of the plot of the errors, px. */
const closeUpPx = 240;

export function framePlate(frame: MeasuredFrame, options: FigureOptions): SVGSVGElement {
  const { document = globalThis.document, width = 760, inks = lightInks } = options;
  const isNarrow = width < 560;
  const side = Math.min(width - (isNarrow ? 2 : 270), 430);
  const scale = side / frame.width;
  const plateHeight = scale * frame.height;
  // Pixel centers lie on whole numbers, so pixel 0 spans -0.5 to 0.5.
  const at = (pixel: number) => 1 + scale * (pixel + 0.5);
  const found = frame.positions.filter(({ x }) => x !== undefined);
  const key = { x: isNarrow ? 4 : side + 28, y: isNarrow ? plateHeight + 40 : 24 };
  return sheet(
    options,
    {
      width,
      height: Math.max(
        plateHeight + 2,
        key.y +
          22 * (frame.positions.length + 1) +
          Math.min(closeUpPx, isNarrow ? width - 12 : closeUpPx) +
          4,
      ),
      alternative: alternativeOf(frame),
    },
    ...framedPixels(frame, scale, inks.ink, inks.ink, document),
    // Where the star truly is: by its place on the edges, as on a map.
    svgElement(document, 'path', {
      d: `M${at(frame.x)} ${plateHeight + 2}v8M${side + 2} ${at(frame.y)}h8`,
      stroke: inks.ink,
      'stroke-width': 2,
    }),
    ...found.map(({ estimator, x = 0, y = 0 }) =>
      estimatorMark(estimator, at(x), at(y), 3.5, document, inks),
    ),
    ...closeUp(
      frame,
      key.x,
      key.y + 22 * (frame.positions.length + 1),
      isNarrow ? width - 12 : closeUpPx,
      document,
      inks,
    ),
    ...keyOf(frame, key.x, key.y, document, inks),
  );
}

/** Where the methods put the star, from its true place: an ordinary plot. */
function closeUp(
  frame: MeasuredFrame,
  left: number,
  top: number,
  widest: number,
  document: Document,
  inks: Inks,
): Node[] {
  const side = Math.min(closeUpPx, widest);
  const off = frame.positions.flatMap(({ x, y }) =>
    x === undefined || y === undefined ? [] : Math.max(Math.abs(x - frame.x), Math.abs(y - frame.y)),
  );
  const farthest = Math.min(6, Math.max(0.05, ...off));
  const reach = [0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10].find((round) => round >= 1.1 * farthest) ?? 10;
  const place = { left: 44, top: 4, side: side - 54, words: 'measured minus true, px' };
  const { xAt, yAt, parts } = errorAxes(reach, place, document, inks);
  return [
    svgElement(
      document,
      'g',
      { transform: `translate(${left} ${top})` },
      ...parts,
      ...frame.positions.flatMap(({ estimator, x, y }) =>
        x === undefined || y === undefined || Math.abs(x - frame.x) > reach || Math.abs(y - frame.y) > reach
          ? []
          : [estimatorMark(estimator, xAt(x - frame.x), yAt(y - frame.y), 4.5, document, inks)],
      ),
    ),
  ];
}

function keyOf(frame: MeasuredFrame, x: number, y: number, document: Document, inks: Inks): Node[] {
  const truth = [
    svgElement(document, 'path', { d: `M${x + 8} ${y - 10}v10`, stroke: inks.ink, 'stroke-width': 2 }),
    svgElement(document, 'text', { x: x + 26, y }, 'where the star truly is: ticks at the edges'),
  ];
  const others = frame.positions.flatMap((position, i) => {
    const line = y + 22 * (i + 1);
    const ink = inks[methodStyle(position.estimator).ink];
    return [
      estimatorMark(position.estimator, x + 8, line - 4, 4.5, document, inks),
      halo(
        svgElement(
          document,
          'text',
          { x: x + 26, y: line, fill: ink },
          `${estimatorLabels[position.estimator]}: ${offWords(position, frame)}`,
        ),
        inks,
      ),
    ];
  });
  return [...truth, ...others];
}

function offWords({ x, y, reason }: FramePosition, frame: { x: number; y: number }): string {
  if (x === undefined || y === undefined) return `lost (${reason})`;
  return shown(`${Math.sqrt((x - frame.x) ** 2 + (y - frame.y) ** 2).toFixed(3)} px off`);
}

function alternativeOf(frame: MeasuredFrame): string {
  const told = frame.positions.map((position) => `${label(position.estimator)} ${offWords(position, frame)}`);
  return shown(
    `One simulated frame of ${frame.width} by ${frame.height} px, the star at x ${frame.x.toFixed(2)}, y ${frame.y.toFixed(2)}. ${told.join('; ')}.`,
  );
}

const label = (estimator: EstimatorName): string => estimatorLabels[estimator];
