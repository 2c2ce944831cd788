/** A whole frame as a negative plate, with what was found in it. */
import { kthSmallest } from '@holdfast/psf/numerics';
import type { FrameImage } from '@holdfast/sim';
import type { FrameMark } from '../reports/frame-marks.ts';
import { type Attributes, type FigureOptions, sheet, svgElement } from './figure.ts';
import { lightInks } from './inks.ts';
import { inkOf } from './star-sheet/plate.ts';
import { platePicture } from './star-sheet/plate-picture.ts';

export interface MarkedFrame {
  readonly title: string;
  readonly frame: FrameImage;
  readonly marks: readonly FrameMark[];
}

/** Longer side of the picture, px of the figure; larger frames are drawn as means over squares. */
const longest = 900;
/** One square in five hundred may be brighter than full ink. */
const fullInk = 0.998;
const small = 11.5;

/** Each star with its ring and number; what is suspect or was rejected dashed, with the reason. */
export function markedFrameFigure(
  { title, frame, marks }: MarkedFrame,
  options: FigureOptions = {},
): SVGSVGElement {
  const { document = globalThis.document, inks = lightInks } = options;
  const [rows, columns] = frame.image.shape as [number, number];
  const bin = Math.max(1, Math.ceil(Math.max(rows, columns) / longest));
  const { density, side } = plateOf(frame, bin);
  const scale = Math.max(1, Math.min(4, longest / (bin * Math.max(rows, columns)))) / bin;
  const at = (px: number): number => round(scale * (px + 0.5));
  const width = round(scale * bin * side);
  const height = round((scale * bin * density.length) / side);
  const circle = (mark: FrameMark, radius: number, look: Attributes): SVGElement =>
    svgElement(document, 'circle', {
      cx: at(mark.x),
      cy: at(mark.y),
      r: round(Math.max(2, scale * radius)),
      fill: 'none',
      ...look,
    });
  const drawn = marks.flatMap((mark) => {
    const dashes = mark.suspect === undefined ? {} : { 'stroke-dasharray': '4 3' };
    const reach = scale * mark.radiusPx + 4;
    const words = [mark.number, mark.suspect].filter((word) => word !== undefined).join(': ');
    // words stand on the side where there is room
    const isRight = at(mark.x) + reach < 0.75 * width;
    return [
      circle(mark, mark.radiusPx, { stroke: inks.paper, 'stroke-width': 3, 'stroke-opacity': 0.65 }),
      circle(mark, mark.radiusPx, { stroke: inks.accent, 'stroke-width': 1.3, ...dashes }),
      ...(mark.innerRadiusPx === undefined
        ? []
        : [circle(mark, mark.innerRadiusPx, { stroke: inks.accent, 'stroke-width': 0.8, ...dashes })]),
      svgElement(
        document,
        'text',
        {
          x: round(at(mark.x) + (isRight ? reach : -reach)),
          y: at(mark.y) + 4,
          'text-anchor': isRight ? 'start' : 'end',
          'font-size': small,
          fill: inks.accent,
          stroke: inks.paper,
          'stroke-width': 3,
          'paint-order': 'stroke',
        },
        words,
      ),
    ];
  });
  const stars = marks.filter(({ number }) => number !== undefined).length;
  const others = marks.length - stars;
  const caption =
    `${stars} ${stars === 1 ? 'star' : 'stars'}, numbered by brightness` +
    `${others === 0 ? '' : `; ${others} ${others === 1 ? 'light' : 'lights'} not taken for a star`}. Dashed: trust it less.`;
  return sheet(
    { document, inks, paper: true },
    { width: Math.max(width, 320), height: 40 + height + 24, alternative: `${title}: ${caption}` },
    svgElement(document, 'text', { x: 0, y: 24, 'font-size': 19 }, title),
    svgElement(
      document,
      'g',
      { transform: 'translate(0 40)' },
      svgElement(document, 'image', {
        width,
        height,
        href: platePicture(density, side, inks.ink),
        'image-rendering': 'pixelated',
      }),
      svgElement(document, 'rect', { width, height, fill: 'none', stroke: inks.ink, 'stroke-width': 0.8 }),
      ...drawn,
    ),
    svgElement(document, 'text', { x: 0, y: 40 + height + 18, 'font-size': small }, caption),
  );
}

/** Ink of each square of `bin` x `bin` pixels, row by row: the root of its light above the frame's median. */
function plateOf({ image }: FrameImage, bin: number): { density: Float64Array; side: number } {
  const [rows, columns] = image.shape as [number, number];
  const side = Math.max(1, Math.floor(columns / bin));
  const high = Math.max(1, Math.floor(rows / bin));
  const means = new Float64Array(side * high);
  for (let y = 0; y < high * bin; y++)
    for (let x = 0; x < side * bin; x++) {
      const value = image.get(y, x);
      if (Number.isFinite(value))
        means[Math.floor(y / bin) * side + Math.floor(x / bin)] += value / (bin * bin);
    }
  const sorted = means.slice();
  const level = kthSmallest(sorted, Math.floor(sorted.length / 2));
  const full = kthSmallest(sorted, Math.floor(fullInk * (sorted.length - 1)));
  const span = Math.max(full - level, Number.MIN_VALUE);
  return { density: means.map((mean) => inkOf((mean - level) / span)), side };
}

const round = (px: number): number => Number(px.toFixed(2));
