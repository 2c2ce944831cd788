/**
 * A star of a frame, large, with its fitted ring and the ring at its limit; beside it the light over the
 * radius.
 */
import { estimatorLabels, significant } from '@holdfast/sim/internal';
import { evenTicks, tickText } from '../../figures/axis-ticks.ts';
import { estimatorMark, methodStyle } from '../../figures/estimator-mark.ts';
import { type FigureOptions, sheet, svgElement } from '../../figures/figure.ts';
import { type Inks, lightInks } from '../../figures/inks.ts';
import { estimateText, shown } from '../../figures/number-words.ts';
import type { Cut, FileStar } from '../compute/measure-file.ts';
import { framedPixels } from './pixel-plate.ts';

/**
 * @param limitPx  outer diameter of the ring at the limit, px of the frame; undefined while it is not known
 */
export function starCut(
  star: FileStar,
  cut: Cut,
  limitPx: number | undefined,
  options: FigureOptions,
): SVGSVGElement {
  const { document = globalThis.document, width = 760, inks = lightInks } = options;
  const { ring, positions } = star;
  const isNarrow = width < 560;
  const side = Math.min(width - (isNarrow ? 2 : 310), 400);
  const scale = side / cut.width;
  const plateHeight = scale * cut.height;
  const key = { x: isNarrow ? 4 : side + 28, y: isNarrow ? plateHeight + 28 : 18 };
  const words = ring.ok
    ? [
        `outer diameter ${estimateText(ring.outerDiameterPx, 'px')}`,
        ...(limitPx === undefined
          ? []
          : [
              shown(
                `at the limit (${limitPx > cut.width ? 'wider than this picture' : 'dashed'}) ${significant(limitPx, 2)} px`,
              ),
            ]),
      ]
    : [`no ring was measured: ${ring.reason}`];
  const listTop = key.y + 22 * words.length;
  const plotTop = listTop + 22 * positions.length + 8;
  const plotWidth = isNarrow ? width - 8 : Math.min(340, width - side - 40);
  return sheet(
    options,
    {
      width,
      height: Math.max(plateHeight + 2, plotTop + profileHeight),
      alternative: alternativeOf(star, limitPx),
    },
    ...framedPixels(cut, scale, inks.ink, inks.rule, document),
    // A part of its own: a ring that is wider than the picture ends at its edge.
    svgElement(
      document,
      'svg',
      { width: side + 2, height: plateHeight + 2 },
      ...(ring.ok
        ? [
            ringLine(ring, cut, scale, ring.outerDiameterPx.value, 'none', document, inks),
            ...(limitPx === undefined ? [] : [ringLine(ring, cut, scale, limitPx, '6 5', document, inks)]),
          ].flat()
        : []),
    ),
    ...words.map((line, i) =>
      svgElement(document, 'text', { x: key.x, y: key.y + 22 * i, fill: inks.accent }, line),
    ),
    ...positions.flatMap((position, i) => {
      const y = listTop + 22 * i;
      const ink = inks[methodStyle(position.estimator).ink];
      return [
        estimatorMark(position.estimator, key.x + 7, y - 4, 4.5, document, inks),
        svgElement(
          document,
          'text',
          { x: key.x + 24, y, fill: ink },
          `${estimatorLabels[position.estimator]}: ${placeOf(position)}`,
        ),
      ];
    }),
    svgElement(
      document,
      'g',
      { transform: `translate(${key.x} ${plotTop})` },
      ...profile(star, cut, limitPx, plotWidth, document, inks),
    ),
  );
}

/** A line with paper under it, so that it is seen on any pixel. */
function ringLine(
  ring: FileStar['ring'] & { ok: true },
  cut: Cut,
  scale: number,
  diameterPx: number,
  dash: string,
  document: Document,
  inks: Inks,
): Node[] {
  return [4.5, 1.8].map((width, i) =>
    svgElement(document, 'circle', {
      cx: 1 + scale * (ring.x.value - cut.left + 0.5),
      cy: 1 + scale * (ring.y.value - cut.top + 0.5),
      r: (scale * diameterPx) / 2,
      fill: 'none',
      stroke: i === 0 ? inks.paper : inks.accent,
      'stroke-opacity': i === 0 ? 0.7 : 1,
      'stroke-width': width,
      'stroke-dasharray': dash,
    }),
  );
}

const profileHeight = 170;

/** Mean of the pixels over their distance from the middle of the ring. */
function profile(
  { ring, x, y }: FileStar,
  cut: Cut,
  limitPx: number | undefined,
  width: number,
  document: Document,
  inks: Inks,
): Node[] {
  const middle = ring.ok ? { x: ring.x.value, y: ring.y.value } : { x, y };
  const most = Math.floor(Math.min(cut.width, cut.height) / 2);
  const sums = new Float64Array(most + 1);
  const counts = new Float64Array(most + 1);
  for (let k = 0; k < cut.pixels.length; k++) {
    const column = k % cut.width;
    const row = (k - column) / cut.width;
    const radius = Math.round(
      Math.sqrt((cut.left + column - middle.x) ** 2 + (cut.top + row - middle.y) ** 2),
    );
    if (radius > most || !Number.isFinite(cut.pixels[k])) continue;
    sums[radius] += cut.pixels[k];
    counts[radius]++;
  }
  const points = [...sums].flatMap((sum, radius) =>
    counts[radius] > 0 ? [{ radius, mean: sum / counts[radius] }] : [],
  );
  const low = Math.min(...points.map(({ mean }) => mean));
  const high = Math.max(...points.map(({ mean }) => mean), low + Number.MIN_VALUE);
  const [top, base] = [8, 120];
  const xAt = (radius: number) => 6 + ((width - 12) * radius) / most;
  const yAt = (mean: number) => base - ((base - top) * (mean - low)) / (high - low);
  const rule = (diameter: number, dash: string) =>
    diameter / 2 > most
      ? []
      : [
          svgElement(document, 'path', {
            d: `M${xAt(diameter / 2).toFixed(1)} ${top}V${base}`,
            stroke: inks.accent,
            'stroke-width': 1.5,
            'stroke-dasharray': dash,
          }),
        ];
  return [
    svgElement(document, 'path', { d: `M6 ${base}H${width - 6}`, stroke: inks.ink, 'stroke-width': 0.8 }),
    ...evenTicks(most, 5).flatMap((tick) => [
      svgElement(document, 'path', { d: `M${xAt(tick)} ${base}v4`, stroke: inks.ink, 'stroke-width': 0.8 }),
      svgElement(document, 'text', { x: xAt(tick), y: base + 18, 'text-anchor': 'middle' }, tickText(tick)),
    ]),
    svgElement(
      document,
      'text',
      { x: width / 2, y: base + 38, 'text-anchor': 'middle' },
      'distance from the middle, px (mean light)',
    ),
    svgElement(document, 'path', {
      d: points
        .map(({ radius, mean }, i) => `${i ? 'L' : 'M'}${xAt(radius).toFixed(1)} ${yAt(mean).toFixed(1)}`)
        .join(''),
      fill: 'none',
      stroke: inks.ink,
      'stroke-width': 1.6,
    }),
    ...(ring.ok ? rule(ring.outerDiameterPx.value, 'none') : []),
    ...(limitPx === undefined ? [] : rule(limitPx, '6 5')),
  ];
}

const placeOf = ({ x, y, reason }: FileStar['positions'][number]): string =>
  x === undefined || y === undefined ? `none (${reason})` : `x ${x.toFixed(3)}, y ${y.toFixed(3)}`;

function alternativeOf({ x, y, snr, ring, positions }: FileStar, limitPx: number | undefined): string {
  const told = positions.map((position) => `${estimatorLabels[position.estimator]} ${placeOf(position)}`);
  const shape = ring.ok
    ? `Ring of outer diameter ${estimateText(ring.outerDiameterPx, 'px')}, hole ${estimateText(ring.innerDiameterPx, 'px')}, blur ${estimateText(ring.blurFwhmPx, 'px')}.`
    : `No ring: ${ring.reason}.`;
  const limit = limitPx === undefined ? '' : ` At its limit the ring is ${significant(limitPx, 2)} px.`;
  return shown(
    `The star at x ${x.toFixed(1)}, y ${y.toFixed(1)}, SNR ${significant(snr, 3)}. ${shape}${limit} ${told.join('; ')}.`,
  );
}
