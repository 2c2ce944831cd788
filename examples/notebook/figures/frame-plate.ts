/** One frame, large, with the true place of the star and every measured one. */
import { type EstimatorName, estimatorNames } from '@holdfast/sim';
import { estimatorLabels } from '@holdfast/sim/internal';
import { type FigureOptions, halo, sheet, svgElement } from '../../figures/figure.ts';
import { type Inks, lightInks, lineStyle } from '../../figures/inks.ts';
import { shown } from '../../figures/number-words.ts';
import type { FramePosition, MeasuredFrame } from '../compute/one-frame.ts';
import { estimatorMark } from './estimator-mark.ts';
import { pixelPlate } from './pixel-plate.ts';

export function framePlate(frame: MeasuredFrame, options: FigureOptions): SVGSVGElement {
  const { document = globalThis.document, width = 760, inks = lightInks } = options;
  const side = Math.min(width - 2, 430);
  const scale = side / frame.width;
  const plateHeight = scale * frame.height;
  const isNarrow = width < side + 240;
  // Pixel centres lie on whole numbers, so pixel 0 spans -0.5 to 0.5.
  const at = (pixel: number) => 1 + scale * (pixel + 0.5);
  const found = frame.positions.filter(({ x }) => x !== undefined);
  const key = { x: isNarrow ? 4 : side + 28, y: isNarrow ? plateHeight + 30 : 24 };
  return sheet(
    options,
    {
      width,
      height: Math.max(
        plateHeight + 2,
        key.y + 22 * (frame.positions.length + 1) + Math.min(210, isNarrow ? width - 12 : 210) + 4,
      ),
      alternative: alternativeOf(frame),
    },
    svgElement(
      document,
      'g',
      { transform: `translate(1 1) scale(${scale})` },
      pixelPlate(frame, inks.ink, document),
    ),
    svgElement(document, 'rect', {
      x: 1,
      y: 1,
      width: side,
      height: plateHeight,
      fill: 'none',
      stroke: inks.ink,
    }),
    svgElement(document, 'circle', {
      cx: at(frame.x),
      cy: at(frame.y),
      r: 9,
      fill: 'none',
      stroke: inks.paper,
      'stroke-width': 4,
    }),
    svgElement(document, 'circle', {
      cx: at(frame.x),
      cy: at(frame.y),
      r: 9,
      fill: 'none',
      stroke: inks.ink,
      'stroke-width': 1.6,
    }),
    ...found.map(({ estimator, x = 0, y = 0 }) =>
      estimatorMark(estimator, at(x), at(y), 3.5, document, inks),
    ),
    ...closeUp(
      frame,
      key.x,
      key.y + 22 * (frame.positions.length + 1),
      isNarrow ? width - 12 : 210,
      document,
      inks,
    ),
    ...keyOf(frame, key.x, key.y, document, inks),
  );
}

/** The middle of the frame, magnified so that the positions come apart. */
function closeUp(
  frame: MeasuredFrame,
  left: number,
  top: number,
  widest: number,
  document: Document,
  inks: Inks,
): Node[] {
  const side = Math.min(210, widest);
  const off = frame.positions.flatMap(({ x, y }) =>
    x === undefined || y === undefined ? [] : Math.max(Math.abs(x - frame.x), Math.abs(y - frame.y)),
  );
  const reach = Math.min(6, Math.max(0.05, 1.25 * Math.max(0, ...off)));
  const at = (distance: number) => (side * (1 + distance / reach)) / 2;
  const middle = side / 2;
  return [
    svgElement(
      document,
      'g',
      { transform: `translate(${left} ${top})` },
      svgElement(document, 'rect', { width: side, height: side, fill: 'none', stroke: inks.ink }),
      svgElement(document, 'path', { d: `M${middle} 0V${side}M0 ${middle}H${side}`, stroke: inks.rule }),
      svgElement(document, 'circle', {
        cx: middle,
        cy: middle,
        r: 9,
        fill: 'none',
        stroke: inks.ink,
        'stroke-width': 1.6,
      }),
      ...frame.positions.flatMap(({ estimator, x, y }) =>
        x === undefined || y === undefined || Math.abs(x - frame.x) > reach || Math.abs(y - frame.y) > reach
          ? []
          : [estimatorMark(estimator, at(x - frame.x), at(y - frame.y), 4.5, document, inks)],
      ),
      svgElement(
        document,
        'text',
        { x: side - 5, y: side - 6, 'text-anchor': 'end', fill: inks.faint },
        `± ${reach.toFixed(2)} px`,
      ),
    ),
  ];
}

function keyOf(frame: MeasuredFrame, x: number, y: number, document: Document, inks: Inks): Node[] {
  const truth = [
    svgElement(document, 'circle', {
      cx: x + 8,
      cy: y - 4,
      r: 8,
      fill: 'none',
      stroke: inks.ink,
      'stroke-width': 1.6,
    }),
    svgElement(document, 'text', { x: x + 26, y }, 'where the star truly is'),
  ];
  const others = frame.positions.flatMap((position, i) => {
    const line = y + 22 * (i + 1);
    const ink = inks[lineStyle(estimatorNames.indexOf(position.estimator)).ink];
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

export function offWords({ x, y, reason }: FramePosition, frame: { x: number; y: number }): string {
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
