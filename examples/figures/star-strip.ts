/**
 * The star as the camera sees it at several focus shifts, printed as plates: the more electrons, the more
 * ink.
 */
import { kthSmallest } from '@holdfast/psf/numerics';
import { estimatorLabels, significant } from '@holdfast/sim/internal';
import type { Report, StarPicture } from '../reports/report.ts';
import { type FigureOptions, letterPx, sheet, svgElement, textWidth } from './figure.ts';
import { type Inks, lightInks } from './inks.ts';
import { shiftText, shown } from './number-words.ts';

/** Room for the ticks beside a plate, px. */
const tickPx = 9;
const gapPx = 14;
const linePx = 17;
const inkSteps = 32;

/** The star of a report at its focus shifts. */
export function starStripFigure({ stars, advice }: Report, options: FigureOptions = {}): SVGSVGElement {
  const estimator = estimatorLabels[advice.estimator];
  const labels = stars.map((star) => labelOf(star, estimator));
  return starPlates(stars, { labels, estimator, alternative: alternativeOf(labels) }, options);
}

interface PlateText {
  /** Lines under each plate. */
  readonly labels: readonly (readonly string[])[];
  /** Whose position the inner ticks show, by its label. */
  readonly estimator: string;
  /** What a screen reader says. */
  readonly alternative: string;
}

/** All plates to one scale, so that the ring is seen to grow. */
export function starPlates(
  stars: readonly StarPicture[],
  { labels, estimator, alternative }: PlateText,
  options: FigureOptions = {},
): SVGSVGElement {
  const { document = globalThis.document, width = 760, inks = lightInks } = options;
  const labelWidth = Math.max(...labels.flat().map((line) => textWidth(line, 0.9 * letterPx)));
  const scale = scaleFor(stars, width, labelWidth);
  const cells = cellWidths(stars, scale, labelWidth);
  const rows = rowsOf(cells, width);
  const parts: Node[] = [];
  let top = 0;
  for (const row of rows) {
    const tallest = Math.max(...row.map((i) => stars[i].height * scale)) + tickPx;
    const spare = width - row.reduce((sum, i) => sum + cells[i], 0);
    const gap = rows.length === 1 && row.length > 1 ? spare / (row.length - 1) : gapPx;
    let left = 0;
    for (const i of row) {
      const y = top + tallest - stars[i].height * scale;
      parts.push(plate(stars[i], estimator, { x: left + tickPx, y, scale }, document, inks));
      labels[i].forEach((line, n) => {
        parts.push(
          svgElement(
            document,
            'text',
            {
              x: left + tickPx,
              y: top + tallest + linePx * (n + 1),
              ...(n === 0 ? { 'font-weight': 'bold' } : {}),
            },
            line,
          ),
        );
      });
      left += cells[i] + gap;
    }
    top += tallest + linePx * labels[0].length + 22;
  }
  return sheet(options, { width, height: top - 12, alternative }, ...parts);
}

/**
 * Whole screen pixels a camera pixel, so that all are printed alike: the largest that needs no more rows than
 * it must.
 */
function scaleFor(stars: readonly StarPicture[], width: number, labelWidth: number): number {
  const widest = Math.max(...stars.map((star) => star.width));
  const rowsAt = (scale: number) => rowsOf(cellWidths(stars, scale, labelWidth), width).length;
  for (let rows = 1; rows <= 3; rows++)
    for (let scale = 8; scale >= 2; scale--)
      if (rowsAt(scale) <= rows && scale * widest + tickPx <= width) return scale;
  return 1;
}

function cellWidths(stars: readonly StarPicture[], scale: number, labelWidth: number): number[] {
  return stars.map((star) => Math.max(scale * star.width, labelWidth) + tickPx);
}

function rowsOf(cells: readonly number[], width: number): number[][] {
  const rows: number[][] = [];
  let used = Infinity;
  cells.forEach((cell, i) => {
    if (used + gapPx + cell > width) {
      rows.push([]);
      used = -gapPx;
    }
    rows[rows.length - 1].push(i);
    used += gapPx + cell;
  });
  return rows;
}

function plate(
  star: StarPicture,
  estimator: string,
  { x, y, scale }: { x: number; y: number; scale: number },
  document: Document,
  inks: Inks,
): SVGElement {
  const { width, height } = star;
  const found = star.measured.find((measured) => measured.estimator === estimator);
  const tick = (x1: number, y1: number, x2: number, y2: number, stroke: string) =>
    svgElement(document, 'line', { x1, y1, x2, y2, stroke, 'stroke-width': 1.5 });
  // Pixel centers lie on whole numbers, so pixel 0 spans -0.5 to 0.5.
  const place = (pixel: number) => scale * (pixel + 0.5);
  return svgElement(
    document,
    'g',
    { transform: `translate(${x} ${y})` },
    svgElement(
      document,
      'g',
      { transform: `scale(${scale})`, fill: inks.ink, 'shape-rendering': 'crispEdges' },
      ...inkLayers(star).map(({ path, opacity }) =>
        svgElement(document, 'path', { d: path, 'fill-opacity': Number(opacity.toFixed(3)) }),
      ),
    ),
    svgElement(document, 'rect', {
      width: scale * width,
      height: scale * height,
      fill: 'none',
      stroke: inks.ink,
      'stroke-width': 0.8,
    }),
    tick(place(star.trueX), -tickPx, place(star.trueX), -2, inks.ink),
    tick(-tickPx, place(star.trueY), -2, place(star.trueY), inks.ink),
    ...(found?.x === undefined || found.y === undefined
      ? []
      : [
          tick(place(found.x), 1, place(found.x), tickPx, inks.accent),
          tick(1, place(found.y), tickPx, place(found.y), inks.accent),
        ]),
  );
}

/** One path for each step of ink, made of the runs of equal pixels in each row. */
function inkLayers({ pixels, width, height }: StarPicture): { path: string; opacity: number }[] {
  const paper = kthSmallest(pixels, Math.floor(pixels.length / 10));
  const full = kthSmallest(pixels, pixels.length - 1);
  const step = (value: number) =>
    Math.max(0, Math.round((inkSteps * (value - paper)) / Math.max(full - paper, Number.MIN_VALUE)));
  const paths = new Map<number, string>();
  for (let row = 0; row < height; row++)
    for (let column = 0; column < width; ) {
      const ink = step(pixels[row * width + column]);
      const from = column;
      while (column < width && step(pixels[row * width + column]) === ink) column++;
      if (ink > 0)
        paths.set(ink, `${paths.get(ink) ?? ''}M${from} ${row}h${column - from}v1h${from - column}z`);
    }
  return [...paths].map(([ink, path]) => ({ path, opacity: ink / inkSteps }));
}

function labelOf(star: StarPicture, estimator: string): string[] {
  return [
    shiftText(star.focusShiftUm),
    shown(`ring ${star.outerDiameterPx.toFixed(1)} px`),
    shown(`SNR ${significant(star.snr, 2)}`),
    offText(star, estimator),
  ];
}

function offText(star: StarPicture, estimator: string): string {
  const found = star.measured.find((measured) => measured.estimator === estimator);
  if (found?.x === undefined || found.y === undefined) return `lost: ${found?.reason ?? 'no position'}`;
  const off = Math.sqrt((found.x - star.trueX) ** 2 + (found.y - star.trueY) ** 2);
  return shown(`off by ${significant(off, 2)} px`);
}

function alternativeOf(labels: readonly (readonly string[])[]): string {
  const told = labels.map((label) => label.join(', '));
  return `The guide star as the camera sees it, one simulated frame at each of ${labels.length} focus shifts: ${told.join('; ')}.`;
}
