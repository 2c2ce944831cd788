/** The star at the edge of the field, from one side of focus to the other, all to one scale. */
import { estimatorMark } from '../../figures/estimator-mark.ts';
import { type FigureOptions, sheet, svgElement } from '../../figures/figure.ts';
import { lightInks } from '../../figures/inks.ts';
import { shiftText, shown } from '../../figures/number-words.ts';
import type { EdgePicture } from '../compute/edge-star.ts';
import { plainFixed } from './fixed.ts';
import { pixelPlate } from './pixel-plate.ts';

const gap = 12;
const linePx = 18;

export function edgePlates(pictures: readonly EdgePicture[], options: FigureOptions): SVGSVGElement {
  const { document = globalThis.document, width = 760, inks = lightInks } = options;
  const columns = width < 560 ? 2 : pictures.length;
  const side = Math.floor((width - gap * (columns - 1)) / columns);
  // All plates stand around the center of the light in focus, and hold every star.
  const focus = pictures[Math.floor(pictures.length / 2)];
  const reach = Math.max(
    ...pictures.flatMap(({ width: w, height: h, perfectX, perfectY }) => {
      const [x, y] = [perfectX + focus.walkX, perfectY + focus.walkY];
      return [x, w - x, y, h - y];
    }),
  );
  const scale = side / (2 * reach);
  const rowHeight = side + 2 * linePx + 16;
  const plates = pictures.map((picture, i) => {
    const { perfectX, perfectY, walkX, walkY, focusShiftUm } = picture;
    const middle = side / 2;
    const tick = (x1: number, y1: number, x2: number, y2: number, stroke: string) =>
      svgElement(document, 'line', { x1, y1, x2, y2, stroke, 'stroke-width': 1.6 });
    const [moveX, moveY] = [walkX - focus.walkX, walkY - focus.walkY];
    const [comX, comY] = [middle + scale * moveX, middle + scale * moveY];
    return svgElement(
      document,
      'g',
      { transform: `translate(${(i % columns) * (side + gap)} ${Math.floor(i / columns) * rowHeight})` },
      svgElement(
        document,
        'g',
        {
          transform: `translate(${middle - scale * (perfectX + focus.walkX + 0.5)} ${middle - scale * (perfectY + focus.walkY + 0.5)}) scale(${scale})`,
        },
        pixelPlate(picture, inks.ink, document),
      ),
      svgElement(document, 'rect', {
        width: side,
        height: side,
        fill: 'none',
        stroke: inks.ink,
        'stroke-width': 0.8,
      }),
      tick(middle, 0, middle, 8, inks.ink),
      tick(middle, side, middle, side - 8, inks.ink),
      tick(0, middle, 8, middle, inks.ink),
      tick(side, middle, side - 8, middle, inks.ink),
      estimatorMark('centerOfMass', comX, comY, 4, document, inks),
      svgElement(document, 'text', { y: side + linePx, 'font-weight': 'bold' }, shiftText(focusShiftUm)),
      svgElement(document, 'text', { y: side + 2 * linePx }, shown(`moved ${plainFixed(moveX, 2)} px`)),
    );
  });
  const told = pictures.map(
    ({ focusShiftUm, walkX, walkY }) =>
      `${shiftText(focusShiftUm)}: center of mass at x ${plainFixed(walkX, 3)} px, y ${plainFixed(walkY, 3)} px`,
  );
  return sheet(
    options,
    {
      width,
      height: rowHeight * Math.ceil(pictures.length / columns) - 8,
      alternative: shown(
        `Expected star at the edge of the field on both sides of focus. ${told.join('; ')}.`,
      ),
    },
    ...plates,
  );
}
