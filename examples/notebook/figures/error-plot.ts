/**
 * Errors in x and y as an ordinary plot: two axes with scales, the points, their histograms along the axes
 * and the ellipse that holds 68 % of a normal cloud.
 */
import { tickText } from '../../figures/axis-ticks.ts';
import { svgElement } from '../../figures/figure.ts';
import type { Inks } from '../../figures/inks.ts';
import { shown } from '../../figures/number-words.ts';

export interface ErrorPlot {
  readonly errorX: ArrayLike<number>;
  readonly errorY: ArrayLike<number>;
  /** Both axes go from -reach to +reach. */
  readonly reach: number;
  /** px or arcsec. */
  readonly unit: string;
  readonly ink: string;
}

/** Room for the numbers of the axes and for the histograms. */
const left = 40;
const histogram = 30;
const bins = 24;
/**
 * A normal cloud has 68 % of its points within so many standard deviations of its ellipse: sqrt(-2 ln 0.32).
 */
const ellipseSigmas = 1.51;

export interface ErrorAxes {
  readonly xAt: (error: number) => number;
  readonly yAt: (error: number) => number;
  readonly parts: Node[];
}

/** Two axes from -reach to +reach, `side` px long, with their numbers and what they count. */
export function errorAxes(
  reach: number,
  place: { readonly left: number; readonly top: number; readonly side: number; readonly words: string },
  document: Document,
  inks: Inks,
): ErrorAxes {
  const { left, top, side, words } = place;
  const xAt = (error: number) => left + (side * (error + reach)) / (2 * reach);
  const yAt = (error: number) => top + (side * (error + reach)) / (2 * reach);
  const base = top + side;
  const axis = { fill: 'none', stroke: inks.ink, 'stroke-width': 0.8 };
  const text = (x: number, y: number, said: string, anchor = 'middle') =>
    svgElement(
      document,
      'text',
      { x, y, 'text-anchor': anchor, fill: inks.faint, 'font-size': 11.5 },
      shown(said),
    );
  return {
    xAt,
    yAt,
    parts: [
      svgElement(document, 'path', { ...axis, d: `M${left} ${top}V${base}H${left + side}` }),
      ...[-reach, -reach / 2, 0, reach / 2, reach].flatMap((tick) => [
        svgElement(document, 'path', {
          ...axis,
          d: `M${xAt(tick).toFixed(1)} ${base}v4M${left} ${yAt(tick).toFixed(1)}h-4`,
        }),
        text(xAt(tick), base + 16, tickText(tick)),
        text(left - 7, yAt(tick) + 4, tickText(tick), 'end'),
      ]),
      text(left + side / 2, base + 31, words),
    ],
  };
}

/** @returns the parts of a plot that is `width` wide and as high, with its numbers */
export function errorPlot(plot: ErrorPlot, width: number, document: Document, inks: Inks): Node[] {
  const { errorX, errorY, reach, unit, ink } = plot;
  const side = width - left - histogram - 8;
  const top = histogram + 4;
  const axes = errorAxes(
    reach,
    { left, top, side, words: `error in x (across) and y (down), ${unit}` },
    document,
    inks,
  );
  const { xAt, yAt } = axes;
  let dots = '';
  for (let i = 0; i < errorX.length; i++)
    if (Math.abs(errorX[i]) <= reach && Math.abs(errorY[i]) <= reach)
      dots += `M${xAt(errorX[i]).toFixed(1)} ${yAt(errorY[i]).toFixed(1)}h0`;
  const bars = (
    errors: ArrayLike<number>,
    bar: (from: number, to: number, share: number) => string,
  ): string => {
    const counts = new Array<number>(bins).fill(0);
    for (let i = 0; i < errors.length; i++) {
      const bin = Math.floor((bins * (errors[i] + reach)) / (2 * reach));
      if (bin >= 0 && bin < bins) counts[bin]++;
    }
    const most = Math.max(1, ...counts);
    const edge = (bin: number) => (2 * reach * bin) / bins - reach;
    return counts
      .map((count, bin) => (count > 0 ? bar(edge(bin), edge(bin + 1), count / most) : ''))
      .join('');
  };
  const above = bars(errorX, (from, to, share) => {
    const height = (histogram - 2) * share;
    return `M${xAt(from).toFixed(1)} ${top}v${(-height).toFixed(1)}H${xAt(to).toFixed(1)}V${top}Z`;
  });
  const beside = bars(errorY, (from, to, share) => {
    const length = (histogram - 2) * share;
    return `M${left + side} ${yAt(from).toFixed(1)}h${length.toFixed(1)}V${yAt(to).toFixed(1)}H${left + side}Z`;
  });
  return [
    ...axes.parts,
    svgElement(document, 'path', { d: above + beside, fill: ink, 'fill-opacity': 0.35 }),
    svgElement(document, 'path', {
      d: dots,
      fill: 'none',
      stroke: ink,
      'stroke-width': 3,
      'stroke-linecap': 'round',
      'stroke-opacity': 0.45,
    }),
    // A part of its own: the ellipse of a wide cloud ends at the edge of the plot.
    svgElement(
      document,
      'svg',
      { x: left, y: top, width: side, height: side, viewBox: `${left} ${top} ${side} ${side}` },
      ...ellipseOf(errorX, errorY, xAt, yAt, document, inks),
    ),
  ];
}

/** Mean and covariance of the cloud, drawn as its ellipse. */
function ellipseOf(
  errorX: ArrayLike<number>,
  errorY: ArrayLike<number>,
  xAt: (error: number) => number,
  yAt: (error: number) => number,
  document: Document,
  inks: Inks,
): Node[] {
  const count = errorX.length;
  if (count < 3) return [];
  let [meanX, meanY] = [0, 0];
  for (let i = 0; i < count; i++) {
    meanX += errorX[i] / count;
    meanY += errorY[i] / count;
  }
  let [xx, xy, yy] = [0, 0, 0];
  for (let i = 0; i < count; i++) {
    xx += (errorX[i] - meanX) ** 2 / (count - 1);
    yy += (errorY[i] - meanY) ** 2 / (count - 1);
    xy += ((errorX[i] - meanX) * (errorY[i] - meanY)) / (count - 1);
  }
  const half = Math.sqrt(((xx - yy) / 2) ** 2 + xy ** 2);
  const scale = xAt(1) - xAt(0);
  const angle = (0.5 * Math.atan2(2 * xy, xx - yy) * 180) / Math.PI;
  return [
    svgElement(document, 'ellipse', {
      rx: scale * ellipseSigmas * Math.sqrt((xx + yy) / 2 + half),
      ry: scale * ellipseSigmas * Math.sqrt(Math.max(0, (xx + yy) / 2 - half)),
      transform: `translate(${xAt(meanX).toFixed(2)} ${yAt(meanY).toFixed(2)}) rotate(${angle.toFixed(2)})`,
      fill: 'none',
      stroke: inks.ink,
      'stroke-width': 1.3,
    }),
  ];
}
