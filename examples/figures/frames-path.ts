/** Of a sequence: the way that all stars went together, and the distance from focus against time. */
import type { EstimatorName, SequenceResult } from '@holdfast/sim';
import { significant } from '@holdfast/sim/internal';
import { type Attributes, svgElement } from './figure.ts';
import type { Inks } from './inks.ts';
import { shown } from './number-words.ts';

const pathPx = 300;
const labelPx = 46;
const small = 11.5;

/** Undefined when there is nothing to draw. */
export function pathPanel(
  { estimator, arcsecPerPx }: { readonly estimator: EstimatorName; readonly arcsecPerPx: number },
  { split, frames, order }: SequenceResult,
  width: number,
  document: Document,
  inks: Inks,
): { parts: SVGElement[]; height: number } | undefined {
  const path = split[estimator]?.path;
  if (path === undefined || path.length < 2) return undefined;
  const text = (x: number, y: number, words: string, attributes: Attributes = {}) =>
    svgElement(document, 'text', { x, y, 'font-size': small, ...attributes }, words);
  const points = path.map(({ x, y }) => ({ x: x * arcsecPerPx, y: y * arcsecPerPx }));
  const reach = niceAbove(Math.max(...points.flatMap(({ x, y }) => [Math.abs(x), Math.abs(y)]), 1e-6));
  const top = 26;
  const place = (value: number) => round(pathPx / 2 + (pathPx / 2) * (value / reach));
  const at = points.map(({ x, y }) => ({ x: labelPx + place(x), y: top + place(y) }));
  const frame = (left: number, wide: number) =>
    svgElement(document, 'rect', {
      x: left,
      y: top,
      width: wide,
      height: pathPx,
      fill: 'none',
      stroke: inks.ink,
      'stroke-width': 0.8,
    });
  const parts: SVGElement[] = [
    text(labelPx, 14, 'The way that all stars went, from their mean', {
      'font-size': 14,
      'font-style': 'italic',
    }),
    frame(labelPx, pathPx),
    svgElement(document, 'path', {
      d: at.map(({ x, y }, k) => `${k === 0 ? 'M' : 'L'}${x} ${y}`).join(''),
      fill: 'none',
      stroke: inks.rule,
      'stroke-width': 1,
    }),
    ...at.map(({ x, y }, k) =>
      svgElement(document, 'circle', {
        cx: x,
        cy: y,
        r: k === 0 || k === at.length - 1 ? 3.5 : 1.8,
        fill: k === 0 ? inks.paper : inks.accent,
        stroke: inks.accent,
      }),
    ),
    ...[-reach, 0, reach].flatMap((value) => [
      text(labelPx + place(value), top + pathPx + 16, shown(significant(value, 2)), {
        'text-anchor': 'middle',
      }),
      text(labelPx - 6, top + place(value) + 4, shown(significant(value, 2)), { 'text-anchor': 'end' }),
    ]),
    text(labelPx + pathPx / 2, top + pathPx + 32, 'x, arcsec (columns); y downwards; open: first frame', {
      'text-anchor': 'middle',
      fill: inks.faint,
    }),
  ];
  const shifts = frames.flatMap(({ time, absFocusShiftUm }) =>
    absFocusShiftUm === undefined ? [] : [{ time, ...absFocusShiftUm }],
  );
  if (shifts.length > 1) {
    const left = labelPx + pathPx + 92;
    const wide = width - left;
    const last = Math.max(frames[frames.length - 1].time, 1e-9);
    const high = niceAbove(Math.max(...shifts.map(({ value, standardError }) => value + standardError)));
    const x = (time: number) => round(left + (wide * time) / last);
    const y = (um: number) => round(top + pathPx * (1 - um / high));
    parts.push(
      text(left, 14, 'Distance from focus by the ring', { 'font-size': 14, 'font-style': 'italic' }),
      frame(left, wide),
      ...shifts.flatMap(({ time, value, standardError }) => [
        svgElement(document, 'path', {
          d: `M${x(time)} ${y(value - standardError)}V${y(value + standardError)}`,
          stroke: inks.second,
          'stroke-width': 1,
        }),
        svgElement(document, 'circle', { cx: x(time), cy: y(value), r: 2, fill: inks.second }),
      ]),
      ...[0, high / 2, high].map((um) =>
        text(left - 6, y(um) + 4, shown(significant(um, 3)), { 'text-anchor': 'end' }),
      ),
      ...[0, last].map((time) =>
        text(x(time), top + pathPx + 16, shown(significant(time, 3)), {
          'text-anchor': time === 0 ? 'start' : 'end',
        }),
      ),
      text(left + wide / 2, top + pathPx + 32, `µm, against ${order.timed ? 's' : 'frames'} from the first`, {
        'text-anchor': 'middle',
        fill: inks.faint,
      }),
    );
  }
  return { parts, height: top + pathPx + 38 };
}

/** 1, 1.5, 2, 3, 5 times a power of ten. */
function niceAbove(value: number): number {
  const decade = 10 ** Math.floor(Math.log10(value));
  return decade * ([1, 1.5, 2, 3, 5, 10].find((part) => part * decade >= value) ?? 10);
}

const round = (px: number): number => Number(px.toFixed(2));
