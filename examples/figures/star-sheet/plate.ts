/** A star as a photographic plate, negative: the more light, the more ink. */
import { type Attributes, svgElement } from '../figure.ts';
import { type Inks, inkOf } from '../inks.ts';
import type { MeasuredStar } from './measure.ts';
import { platePicture } from './plate-picture.ts';

/** Side of a plate, and room for the ticks beside it, px. */
export const platePx = 168;
export const tickPx = 8;

/**
 * The plate with its upper left corner at (0, 0): ticks where the star was asked for, and what was measured
 * in blue.
 */
export function plate(star: MeasuredStar, document: Document, inks: Inks): SVGElement {
  const { pixels, side, peak, darker = 1, center, rms } = star;
  const scale = platePx / side;
  // Pixel centers lie on whole numbers, so pixel 0 spans -0.5 to 0.5.
  const place = (px: number) => round(scale * (px + 0.5));
  const [x, y, cx, cy] = [star.x, star.y, star.x + center.x, star.y + center.y].map(place);
  const element = (name: string, attributes: Attributes) => svgElement(document, name, attributes);
  const line = (x1: number, y1: number, x2: number, y2: number, stroke: string) =>
    element('line', { x1, y1, x2, y2, stroke, 'stroke-width': 1.4 });
  const ellipse = (look: Attributes) =>
    element('ellipse', {
      rx: round(scale * rms.long),
      ry: round(scale * rms.short),
      transform: `translate(${cx} ${cy}) rotate(${round(rms.angleDeg)})`,
      fill: 'none',
      'stroke-dasharray': '4 3',
      ...look,
    });
  return svgElement(
    document,
    'g',
    {},
    element('image', {
      width: platePx,
      height: platePx,
      href: platePicture(
        pixels.map((light) => inkOf((light * darker) / peak)),
        side,
        inks.ink,
      ),
      'image-rendering': 'pixelated',
    }),
    element('rect', { width: platePx, height: platePx, fill: 'none', stroke: inks.ink, 'stroke-width': 0.8 }),
    line(x, -tickPx, x, -2, inks.ink),
    line(-tickPx, y, -2, y, inks.ink),
    line(cx, 1, cx, tickPx, inks.accent),
    line(1, cy, tickPx, cy, inks.accent),
    // Paper beneath the line, for it to show on ink.
    ellipse({ stroke: inks.paper, 'stroke-width': 2, 'stroke-opacity': 0.7 }),
    ellipse({ stroke: inks.accent, 'stroke-width': 1 }),
    ...scaleBar(side, document, inks),
  );
}

/** A round length in pixels, about a fifth of the plate. */
function scaleBar(side: number, document: Document, inks: Inks): SVGElement[] {
  const length = [1, 2, 5, 10, 20, 50, 100].findLast((px) => px <= side / 4) ?? 1;
  const right = platePx - 7;
  const left = round(right - (length * platePx) / side);
  return [
    svgElement(document, 'path', {
      d: `M${left} ${platePx - 7}H${right}`,
      stroke: inks.ink,
      'stroke-width': 1.4,
    }),
    svgElement(
      document,
      'text',
      { x: round((left + right) / 2), y: platePx - 11, 'text-anchor': 'middle', 'font-size': 10 },
      `${length}\u00a0px`,
    ),
  ];
}

const round = (px: number): number => Number(px.toFixed(2));
