/** A whole frame as a negative plate, with what was found in it. */
import { kthSmallest } from '@holdfast/psf/numerics';
import type { FrameImage } from '@holdfast/sim';
import type { FrameMark } from '../reports/frame-marks.ts';
import { type Attributes, type FigureOptions, halo, sheet, svgElement, textWidth } from './figure.ts';
import { inkOf, lightInks } from './inks.ts';
import { shown } from './number-words.ts';

/** A frame as ink: one square per pixel, or the mean over a square of pixels. */
export interface FramePlate {
  /** Pixels of the frame per side of a square. */
  readonly bin: number;
  /** Squares per row. */
  readonly columns: number;
  /** Ink of each square, 0 to 1, row by row. */
  readonly density: Float64Array;
}

export interface MarkedFrame {
  /** Above the picture; none on a page whose caption says it. */
  readonly title?: string;
  readonly plate: FramePlate;
  readonly marks: readonly FrameMark[];
  /** A picture of one color (#rrggbb) as a URL, transparent where the density is 0. */
  picture(density: Float64Array, columns: number, color: string): string;
}

const longest = 900;
/** Of empty sky so many squares are darker than its mean plus one standard deviation. */
const oneSigma = 0.841;
/** One square in five hundred may be brighter than full ink. */
const fullInk = 0.998;
const small = 12.5;
const titlePx = 19;
/** From line to line of the words below a picture, and the least width for them, px. */
const linePx = 18;
const narrowest = 320;

/** Each star with its ring and number; what is suspect or was rejected dashed, with the reason. */
export function markedFrameFigure(
  { title, plate, marks, picture }: MarkedFrame,
  options: FigureOptions = {},
): SVGSVGElement {
  const { document = globalThis.document, inks = lightInks } = options;
  const { bin, columns, density } = plate;
  const rows = density.length / columns;
  const widest = Math.min(options.width ?? longest, (longest * columns) / Math.max(rows, columns));
  /** Px of the figure per px of the frame: a small frame is not drawn larger than four times. */
  const scale = Math.min(4, widest / (bin * columns));
  const at = (px: number): number => round(scale * (px + 0.5));
  const width = round(scale * bin * columns);
  const height = round(scale * bin * rows);
  const top = title === undefined ? 0 : 40;
  const circle = (mark: FrameMark, radius: number, look: Attributes): SVGElement =>
    svgElement(document, 'circle', {
      cx: at(mark.x),
      cy: at(mark.y),
      r: round(Math.max(2, scale * radius)),
      fill: 'none',
      ...look,
    });
  const taken: Place[] = [];
  const drawn = marks.flatMap((mark) => {
    const dashes = mark.suspect === undefined ? {} : { 'stroke-dasharray': '4 3' };
    const words = [mark.number, mark.suspect].filter((word) => word !== undefined).join(': ');
    const [x, y, reach] = [at(mark.x), at(mark.y), scale * mark.radiusPx + 4];
    const place = placeOf({ x, y, reach, long: textWidth(words, small) }, width, taken);
    taken.push(place);
    return [
      circle(mark, mark.radiusPx, { stroke: inks.paper, 'stroke-width': 3, 'stroke-opacity': 0.65 }),
      circle(mark, mark.radiusPx, { stroke: inks.accent, 'stroke-width': 1.3, ...dashes }),
      ...(mark.innerRadiusPx === undefined
        ? []
        : [circle(mark, mark.innerRadiusPx, { stroke: inks.accent, 'stroke-width': 0.8, ...dashes })]),
      halo(
        svgElement(
          document,
          'text',
          { x: place.left, y: place.base, 'font-size': small, fill: inks.accent },
          words,
        ),
        inks,
      ),
    ];
  });
  const caption = markedFrameCaption(marks);
  const told = marks.map((mark) => markWords(mark)).join('; ');
  const wide = title === undefined ? width : Math.max(width, narrowest, textWidth(title, titlePx));
  const lines = title === undefined ? [] : linesOf(caption, wide);
  return sheet(
    options,
    {
      width: wide,
      height: title === undefined ? height : top + height + lines.length * linePx + 6,
      alternative: shown(`${title === undefined ? '' : `${title}: `}${caption} ${told}.`),
    },
    ...(title === undefined
      ? []
      : [
          svgElement(document, 'text', { x: 0, y: 24, 'font-size': titlePx }, title),
          ...lines.map((line, k) =>
            svgElement(
              document,
              'text',
              { x: 0, y: top + height + (k + 1) * linePx, 'font-size': small },
              line,
            ),
          ),
        ]),
    svgElement(
      document,
      'g',
      { transform: `translate(0 ${top})` },
      // A mask of white, filled with ink: so the picture takes the colors of the page.
      svgElement(
        document,
        'mask',
        { id: maskName },
        svgElement(document, 'image', {
          width,
          height,
          href: picture(density, columns, '#ffffff'),
          'image-rendering': 'pixelated',
        }),
      ),
      svgElement(document, 'rect', { width, height, fill: inks.ink, mask: `url(#${maskName})` }),
      svgElement(document, 'rect', { width, height, fill: 'none', stroke: inks.ink, 'stroke-width': 0.8 }),
      ...drawn,
    ),
  );
}

const maskName = 'light-of-the-frame';

/** Where words stand, px of the figure. */
interface Place {
  readonly left: number;
  readonly base: number;
  readonly long: number;
}

/** Beside, below or above the ring: the first place within the picture where no other words stand. */
function placeOf(
  { x, y, reach, long }: { x: number; y: number; reach: number; long: number },
  width: number,
  taken: readonly Place[],
): Place {
  const middle = Math.max(2, Math.min(width - long, x - long / 2));
  const places = [
    { left: x + reach, base: y + 4 },
    { left: x - reach - long, base: y + 4 },
    { left: middle, base: y + reach + small },
    { left: middle, base: y - reach - 2 },
  ].map(({ left, base }): Place => ({ left: round(left), base: round(base), long }));
  const isFree = ({ left, base }: Place) =>
    left >= 0 &&
    left + long <= width &&
    taken.every(
      (other) =>
        Math.abs(other.base - base) > small || other.left > left + long || other.left + other.long < left,
    );
  return places.find(isFree) ?? places[2];
}

/** Words in lines of at most this width, px. */
function linesOf(words: string, width: number): string[] {
  const lines = [''];
  for (const word of words.split(' ')) {
    const longer = `${lines.at(-1)} ${word}`.trim();
    if (textWidth(longer, small) <= width) lines[lines.length - 1] = longer;
    else lines.push(word);
  }
  return lines;
}

/** How many stars there are, and what the dashes say. */
export function markedFrameCaption(marks: readonly FrameMark[]): string {
  const stars = marks.filter(({ number }) => number !== undefined).length;
  const others = marks.length - stars;
  return (
    `${stars} ${stars === 1 ? 'star' : 'stars'}, numbered by brightness` +
    `${others === 0 ? '' : `; ${others} ${others === 1 ? 'light' : 'lights'} not taken for a star`}.` +
    `${marks.some(({ suspect }) => suspect !== undefined) ? ' Dashed: trust it less, for the reason beside it.' : ''}`
  );
}

const markWords = ({ number, x, y, radiusPx, suspect }: FrameMark): string =>
  `${number ?? 'no star'} at x ${x.toFixed(1)}, y ${y.toFixed(1)}, ${(2 * radiusPx).toFixed(1)} px wide` +
  `${suspect === undefined ? '' : `, ${suspect}`}`;

/**
 * Ink of each square: the root of its light above the noise, which is paper but for its brightest sixth.
 *
 * @param most  squares per row and per column at most
 */
export function framePlate({ image }: Pick<FrameImage, 'image'>, most = longest): FramePlate {
  const [rows, width] = image.shape as [number, number];
  const bin = Math.max(1, Math.ceil(Math.max(rows, width) / most));
  const columns = Math.max(1, Math.floor(width / bin));
  const high = Math.max(1, Math.floor(rows / bin));
  const means = new Float64Array(columns * high);
  for (let y = 0; y < Math.min(rows, high * bin); y++)
    for (let x = 0; x < Math.min(width, columns * bin); x++) {
      const value = image.get(y, x);
      if (Number.isFinite(value))
        means[Math.floor(y / bin) * columns + Math.floor(x / bin)] += value / (bin * bin);
    }
  const sorted = means.slice();
  const level = kthSmallest(sorted, Math.floor(oneSigma * (sorted.length - 1)));
  const full = kthSmallest(sorted, Math.floor(fullInk * (sorted.length - 1)));
  const span = Math.max(full - level, Number.MIN_VALUE);
  return { bin, columns, density: means.map((mean) => inkOf((mean - level) / span)) };
}

const round = (px: number): number => Number(px.toFixed(2));
