/** Pixels printed in ink: the more electrons, the more ink. */
import { svgElement } from '../../figures/figure.ts';

export interface PlatePixels {
  readonly width: number;
  readonly height: number;
  readonly pixels: ArrayLike<number>;
}

const inkSteps = 32;

/** One path for each step of ink, made of the runs of equal pixels in each row; a unit a pixel. */
export function pixelPlate(
  { width, height, pixels }: PlatePixels,
  ink: string,
  document: Document,
): SVGElement {
  const finite = Array.from(pixels).filter(Number.isFinite);
  const sorted = finite.sort((a, b) => a - b);
  const paper = sorted[Math.floor(sorted.length / 10)] ?? 0;
  const full = sorted[sorted.length - 1] ?? 1;
  const step = (value: number) =>
    Math.max(0, Math.round((inkSteps * (value - paper)) / Math.max(full - paper, Number.MIN_VALUE))) || 0;
  const paths = new Map<number, string>();
  for (let row = 0; row < height; row++)
    for (let column = 0; column < width; ) {
      const value = step(pixels[row * width + column]);
      const from = column;
      while (column < width && step(pixels[row * width + column]) === value) column++;
      if (value > 0)
        paths.set(value, `${paths.get(value) ?? ''}M${from} ${row}h${column - from}v1h${from - column}z`);
    }
  return svgElement(
    document,
    'g',
    { fill: ink, 'shape-rendering': 'crispEdges' },
    ...[...paths].map(([value, d]) =>
      svgElement(document, 'path', { d, 'fill-opacity': Number((value / inkSteps).toFixed(3)) }),
    ),
  );
}

/** The same at a scale, in a frame; its first pixel begins at 1, 1. */
export function framedPixels(
  picture: PlatePixels,
  scale: number,
  ink: string,
  stroke: string,
  document: Document,
): Node[] {
  const frame = { x: 1, y: 1, width: scale * picture.width, height: scale * picture.height };
  return [
    svgElement(
      document,
      'g',
      { transform: `translate(1 1) scale(${scale})` },
      pixelPlate(picture, ink, document),
    ),
    svgElement(document, 'rect', { ...frame, fill: 'none', stroke }),
  ];
}
