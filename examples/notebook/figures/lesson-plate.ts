/** The lesson's star as the method sees it, and beside it the errors of all frames. */
import type { EstimatorName } from '@holdfast/sim';
import { estimatorMark, methodStyle } from '../../figures/estimator-mark.ts';
import { type FigureOptions, sheet, svgElement } from '../../figures/figure.ts';
import { lightInks } from '../../figures/inks.ts';
import type { LessonFrame, LessonResult } from '../compute/lesson.ts';
import { errorPlot } from './error-plot.ts';
import { framedPixels } from './pixel-plate.ts';

const plotPx = 420;
const gap = 40;

/** @param reach  the axes of the errors go so far to both sides, px */
export function lessonPlate(
  { first, errorX, errorY }: LessonResult,
  method: EstimatorName,
  reach: number,
  alternative: string,
  options: FigureOptions,
): SVGSVGElement {
  const { document = globalThis.document, width = 760, inks = lightInks } = options;
  const isNarrow = width < 560;
  const side = Math.min(isNarrow ? width : 0.58 * (width - gap), plotPx);
  const starPx = isNarrow ? Math.min(width - 12, 260) : Math.min(width - side - gap, 340);
  const scale = starPx / first.width;
  const top = isNarrow ? scale * first.height + 36 : 0;
  const left = isNarrow ? 0 : starPx + gap;
  const ink = inks[methodStyle(method).ink];
  return sheet(
    options,
    { width: Math.min(width, left + side), height: top + side, alternative },
    ...starOf(first, scale, method, options),
    svgElement(
      document,
      'g',
      { transform: `translate(${left} ${top})` },
      ...errorPlot({ errorX, errorY, reach, unit: 'px', ink }, side, document, inks),
      ...(errorX.length === 0
        ? [svgElement(document, 'text', { x: side / 2, y: side / 2, 'text-anchor': 'middle' }, 'no position')]
        : []),
    ),
  );
}

function starOf(frame: LessonFrame, scale: number, method: EstimatorName, options: FigureOptions): Node[] {
  const { document = globalThis.document, inks = lightInks } = options;
  // Pixel centers lie on whole numbers, so pixel 0 spans -0.5 to 0.5.
  const at = (pixel: number) => 1 + scale * (pixel + 0.5);
  const { window, found } = frame;
  const end = 2 + scale * frame.height;
  return [
    ...framedPixels(frame, scale, inks.ink, inks.rule, document),
    ...(window
      ? [
          svgElement(document, 'rect', {
            x: at(window.from - 0.5),
            y: at(window.from - 0.5),
            width: scale * (window.to - window.from + 1),
            height: scale * (window.to - window.from + 1),
            fill: 'none',
            stroke: inks.ink,
            'stroke-width': 1.5,
            'stroke-dasharray': '5 3',
          }),
        ]
      : []),
    svgElement(document, 'path', {
      d: `M${at(frame.x)} ${end}v8M${end} ${at(frame.y)}h8`,
      stroke: inks.ink,
      'stroke-width': 2,
    }),
    ...(found ? [estimatorMark(method, at(found.x), at(found.y), 4, document, inks)] : []),
  ];
}
