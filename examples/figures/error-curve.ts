/**
 * The error of the star's position against its distance from focus, and beneath it the frames that are lost.
 */
import type { Report } from '../reports/report.ts';
import { chartKey } from './chart-key.ts';
import { curveAlternative, curveData } from './curve-data.ts';
import { type CurveLayout, curveLayout, rowPx } from './curve-layout.ts';
import { errorPanel, panelMargin } from './error-panel.ts';
import { type FigureOptions, halo, place, sheet, svgElement } from './figure.ts';
import { type Inks, lightInks, lineStyle } from './inks.ts';
import { lostPanel } from './lost-panel.ts';

/**
 * Two panels on one axis of focus shift. Above: noise-equivalent error of each method with its 95 % interval,
 * the least possible error, the largest error within the budget, the focus limit, and where each filter
 * stands. Below: the share of frames without a position.
 */
export function errorCurveFigure(report: Report, options: FigureOptions = {}): SVGSVGElement {
  const { document = globalThis.document, width = 760, inks = lightInks } = options;
  const data = curveData(report);
  const key = chartKey(
    [
      ...data.lines.map(({ label, index, own }) => ({ label, ...lineStyle(index), isOwn: own })),
      { label: 'least possible error', ink: 'faint', dash: 'none' },
      { label: `the budget allows ${data.budgetText}″`, ink: 'ink', dash: '1 3' },
    ],
    width,
    document,
    inks,
  );
  const layout = curveLayout(data, width, key.height);
  const { errorTop, errorHeight, lostTop, lostHeight, height } = layout;
  return sheet(
    options,
    { width, height, alternative: curveAlternative(report, data) },
    ...key.parts,
    ...filterNames(layout, document, inks),
    place(errorPanel(data, layout, document, inks), 0, errorTop - panelMargin, document),
    place(lostPanel(data, layout, document, inks), 0, lostTop - panelMargin, document),
    axisTitle('noise-equivalent error, arcsec', 11, errorTop + errorHeight / 2, document),
    axisTitle('px', width - 4, errorTop + errorHeight / 2, document),
    axisTitle('lost, %', 11, lostTop + lostHeight / 2, document),
  );
}

/** Each filter's name above, with a pole through the upper panel at its place. */
function filterNames({ flags, errorTop, errorHeight }: CurveLayout, document: Document, inks: Inks): Node[] {
  return flags.map(({ x, row, text, anchor }) => {
    const foot = errorTop - 6 - rowPx * row;
    const pole = svgElement(document, 'line', {
      x1: x,
      x2: x,
      y1: foot - rowPx + 4,
      y2: errorTop + errorHeight,
      stroke: inks.faint,
      'stroke-opacity': 0.7,
      'stroke-width': 0.6,
    });
    const place = { x: x + (anchor === 'start' ? 4 : -4), y: foot - 4, 'text-anchor': anchor };
    const name = svgElement(document, 'text', { ...place, 'font-style': 'italic' }, text);
    return svgElement(document, 'g', {}, pole, halo(name, inks));
  });
}

/** The quantity of an axis, written along it. */
function axisTitle(words: string, x: number, y: number, document: Document): Node {
  const place = { transform: `translate(${x} ${y}) rotate(-90)`, 'text-anchor': 'middle' };
  return svgElement(document, 'text', place, words);
}
