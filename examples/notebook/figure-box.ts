/**
 * A numbered figure with its caption, redrawn for its width and whenever its numbers change, once it is near
 * what is looked at, or printed; saved as SVG and PNG.
 */
import type { FigureOptions } from '../figures/figure.ts';
import { lightInks, pageInks } from '../figures/inks.ts';
import { element } from './element.ts';
import { pngOf } from './png.ts';
import { saveLink, textBlob } from './save-link.ts';
import { sightOf } from './sight.ts';

export type DrawFigure = (options: FigureOptions) => SVGSVGElement;

export interface LiveFigure {
  readonly element: HTMLElement;
  /** Whether it is on the screen. */
  readonly isSeen: () => boolean;
  /** Draw it anew; the caption stays unless another is given. */
  redraw(draw: DrawFigure, caption?: readonly (Node | string)[]): void;
  /** The same, once what follows the change at once is drawn: its numbers stay, but for a mark. */
  redrawLater(draw: DrawFigure, caption?: readonly (Node | string)[]): void;
}

/** Width of a figure that is saved, px. */
const savedWidth = 760;
/** How long a figure that is not on the screen waits after a change, ms. */
const unseenMs = 150;
/** How long one waits whose numbers stay, ms. */
const laterMs = 100;
/** Narrower than this the figure is scaled down. */
const leastWidth = 280;

/** While the page is printed every figure is drawn, looked at or not. */
let isPrinted = false;
const shows: (() => void)[] = [];
addEventListener('beforeprint', () => {
  isPrinted = true;
  for (const show of shows) show();
});
addEventListener('afterprint', () => {
  isPrinted = false;
});

/** @param room  height that the figure will have, px, so that the page does not jump when it is drawn */
export function liveFigure(number: number, file: string, room: number): LiveFigure {
  const plate = element('div', { class: 'plate', style: `--room: ${room}px` });
  const words = element('span', { class: 'words' }, 'is computed when it comes into view.');
  const saves = element('span', { class: 'saves', hidden: '' });
  let draw: DrawFigure | undefined;
  let width = 0;
  let isNear = false;
  let drawn: unknown[] = [];
  const show = () => {
    if (draw === undefined || width === 0 || (drawn[0] === draw && drawn[1] === width)) return;
    if (isNear || isPrinted) {
      const svg = draw({ inks: pageInks, width });
      plate.style.setProperty('--room', `${svg.getAttribute('height')}px`);
      plate.replaceChildren(svg);
      drawn = [draw, width];
      plate.classList.remove('old');
    }
    // An older figure would tell older numbers.
    else {
      plate.replaceChildren();
      drawn = [];
      plate.classList.remove('old');
    }
  };
  const isSeen = sightOf(plate, 0, show);
  let timer: ReturnType<typeof setTimeout> | undefined;
  shows.push(show);
  new IntersectionObserver(
    (entries) => {
      isNear = entries[entries.length - 1].isIntersecting;
      plate.classList.toggle('near', isNear);
      if (isNear) show();
    },
    { rootMargin: '100% 0px' },
  ).observe(plate);
  new ResizeObserver(([entry]) => {
    const wanted = Math.max(leastWidth, Math.floor(entry.contentRect.width));
    if (wanted === width) return;
    width = wanted;
    show();
  }).observe(plate);
  const text = (): string => {
    if (draw === undefined) return '';
    return svgText(draw({ inks: lightInks, width: savedWidth, paper: true }));
  };
  saves.append(
    saveLink('save as SVG', `${file}.svg`, () => textBlob(text(), 'image/svg+xml')),
    ' ',
    saveLink('save as PNG', `${file}.png`, () => pngOf(text())),
  );
  const caption = element(
    'figcaption',
    { class: 'caption' },
    element('span', { class: 'label' }, `Figure ${number}.`),
    ' ',
    words,
    ' ',
    saves,
  );
  const take = (newDraw: DrawFigure, newCaption: readonly (Node | string)[] | undefined) => {
    draw = newDraw;
    saves.hidden = false;
    if (newCaption !== undefined) words.replaceChildren(...newCaption);
    clearTimeout(timer);
  };
  return {
    element: element('figure', { id: file }, plate, caption),
    isSeen,
    redrawLater(newDraw, newCaption) {
      clearTimeout(timer);
      timer = setTimeout(() => {
        take(newDraw, newCaption);
        show();
      }, laterMs);
    },
    redraw(newDraw, newCaption) {
      take(newDraw, newCaption);
      if (isSeen()) show();
      else {
        // The page goes on with what is on the screen.
        plate.classList.add('old');
        timer = setTimeout(show, unseenMs);
      }
    },
  };
}

function svgText(figure: SVGSVGElement): string {
  return `${new XMLSerializer().serializeToString(figure)}\n`;
}
