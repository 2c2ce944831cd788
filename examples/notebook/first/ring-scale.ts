/** The ring on a scale: a slider, its px above and um below, and the limit marked on it. */
import { evenTicks } from '../../figures/axis-ticks.ts';
import { svgElement } from '../../figures/figure.ts';
import type { LimitRange } from '../compute/formula-limits.ts';
import { element } from '../element.ts';

export interface RingScale {
  readonly element: HTMLElement;
  readonly slider: HTMLInputElement;
  draw(px: number, limit: LimitRange, umPerPx: number): void;
}

/** The slider's thumb, CSS px: its middle stands this far inside at both ends. */
const thumb = 16;

export function ringScale(): RingScale {
  const slider = element('input', {
    type: 'range',
    min: '0',
    step: '0.5',
    'aria-label': 'ring diameter, slider',
  });
  const scale = element('div', { class: 'scale', 'aria-hidden': 'true' });
  const box = element('div', { class: 'ring-scale' }, slider, scale);
  let width = 0;
  let last: [number, LimitRange, number] | undefined;
  const show = () => {
    if (last === undefined || width === 0) return;
    const [px, limit, umPerPx] = last;
    const most = mostOf(px, limit);
    if (slider.max !== String(most)) slider.max = String(most);
    slider.value = String(px);
    slider.setAttribute('aria-valuetext', `${px} px, ${Math.round(px * umPerPx)} µm out of focus`);
    scale.replaceChildren(drawn(most, limit, umPerPx, width));
  };
  new ResizeObserver(([entry]) => {
    width = Math.floor(entry.contentRect.width);
    show();
  }).observe(scale);
  return {
    element: box,
    slider,
    draw(...now) {
      last = now;
      show();
    },
  };
}

/** Twice the limit, in round numbers, so that the scale does not move with every answer. */
function mostOf(px: number, limit: LimitRange): number {
  const wanted = Math.max(20, 1.6 * Math.min(limit.high, 180), px);
  return [20, 40, 60, 80, 120, 160, 200].find((most) => most >= wanted) ?? 300;
}

/** Numbers at the ends stay within the scale. */
const anchorAt = (part: number): string => (part === 0 ? 'start' : part > 0.96 ? 'end' : 'middle');

function drawn(most: number, limit: LimitRange, umPerPx: number, width: number): SVGElement {
  const at = (px: number) => thumb / 2 + (px / most) * (width - thumb);
  const tick = (px: number, label: string, y: number, length: number) => [
    svgElement(document, 'path', { d: `M${at(px)} 18v${length}`, stroke: 'currentColor' }),
    svgElement(document, 'text', { x: at(px), y, 'text-anchor': anchorAt(px / most) }, label),
  ];
  const count = width < 420 ? 4 : 6;
  const mostUm = most * umPerPx;
  const low = at(Math.min(most, limit.low));
  const high = at(Math.min(most, limit.high));
  const isOn = limit.value > 0 && limit.value <= most;
  return svgElement(
    document,
    'svg',
    { width, height: 58, class: 'scale-lines' },
    ...(limit.low > most
      ? []
      : [
          svgElement(document, 'rect', {
            class: 'beyond',
            x: high,
            y: 15,
            width: Math.max(0, width - high),
            height: 6,
          }),
          svgElement(document, 'rect', {
            class: 'perhaps',
            x: low,
            y: 15,
            width: Math.max(0, high - low),
            height: 6,
          }),
        ]),
    svgElement(document, 'path', { d: `M${thumb / 2} 18H${width - thumb / 2}`, stroke: 'currentColor' }),
    ...evenTicks(most, count).flatMap((px) => tick(px, px === 0 ? '0 px' : String(px), 11, -4)),
    ...evenTicks(mostUm, count).flatMap((um) => tick(um / umPerPx, um === 0 ? '0 µm' : String(um), 36, 4)),
    ...(isOn
      ? [
          svgElement(document, 'path', { class: 'limit', d: `M${at(limit.value)} 13V25` }),
          svgElement(
            document,
            'text',
            {
              class: 'limit-word',
              x: Math.min(width - 20, Math.max(20, at(limit.value))),
              y: 54,
              'text-anchor': 'middle',
            },
            'limit',
          ),
        ]
      : []),
  );
}
