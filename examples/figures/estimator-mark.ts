/** The mark of an estimator: shape and hue as in every chart. */
import { type EstimatorName, estimatorNames } from '@holdfast/sim';
import { svgElement } from './figure.ts';
import { type Inks, type LineStyle, lineStyle } from './inks.ts';

/** Hue, dash and mark of a method, the same in every figure; a user's own method has the last ones. */
export const methodStyle = (estimator: string): LineStyle => {
  const index = (estimatorNames as readonly string[]).indexOf(estimator);
  return lineStyle(index < 0 ? estimatorNames.length : index);
};

export function estimatorMark(
  estimator: EstimatorName,
  x: number,
  y: number,
  r: number,
  document: Document,
  inks: Inks,
): SVGElement {
  const { ink, symbol } = methodStyle(estimator);
  return svgElement(document, 'path', {
    d: symbolPath(symbol, x, y, r),
    fill: inks.paper,
    stroke: inks[ink],
    'stroke-width': 2,
  });
}

export const symbolPath = (symbol: LineStyle['symbol'], x: number, y: number, r: number): string =>
  outline[symbol](x, y, r);

const polygon = (points: readonly (readonly [number, number])[]): string =>
  `${points.map(([x, y], i) => `${i ? 'L' : 'M'}${x.toFixed(2)} ${y.toFixed(2)}`).join('')}Z`;

/** Corners at equal angles, from the top on. */
const spokes = (x: number, y: number, count: number, reach: (i: number) => number): string =>
  polygon(
    Array.from({ length: count }, (_, i): [number, number] => {
      const angle = (2 * Math.PI * i) / count;
      return [x + reach(i) * Math.sin(angle), y - reach(i) * Math.cos(angle)];
    }),
  );

const outline: Record<LineStyle['symbol'], (x: number, y: number, r: number) => string> = {
  circle: (x, y, r) => `M${x - r} ${y}a${r} ${r} 0 1 0 ${2 * r} 0a${r} ${r} 0 1 0 ${-2 * r} 0Z`,
  square: (x, y, r) => `M${x - 0.9 * r} ${y - 0.9 * r}h${1.8 * r}v${1.8 * r}h${-1.8 * r}Z`,
  triangle: (x, y, r) =>
    polygon([
      [x, y - 1.2 * r],
      [x + 1.1 * r, y + 0.8 * r],
      [x - 1.1 * r, y + 0.8 * r],
    ]),
  diamond: (x, y, r) =>
    polygon([
      [x, y - 1.35 * r],
      [x + r, y],
      [x, y + 1.35 * r],
      [x - r, y],
    ]),
  cross: (x, y, r) => {
    const w = 0.45 * r;
    return `M${x - w} ${y - r}h${2 * w}v${r - w}h${r - w}v${2 * w}h${w - r}v${r - w}h${-2 * w}v${w - r}h${w - r}v${-2 * w}h${r - w}Z`;
  },
  hexagon: (x, y, r) => spokes(x, y, 6, () => 1.15 * r),
  wye: (x, y, r) => spokes(x, y, 6, (i) => (i % 2 ? 0.55 * r : 1.5 * r)),
  star: (x, y, r) => spokes(x, y, 10, (i) => (i % 2 ? 0.6 * r : 1.4 * r)),
};
