/** A numbered figure with its caption, redrawn for the width it is given, saved as SVG. */
import type { FigureOptions } from '../figures/figure.ts';
import { lightInks, pageInks } from '../figures/inks.ts';
import { element } from './element.ts';
import { saveLink } from './save-link.ts';

export interface FigureBox {
  readonly file: string;
  readonly caption: readonly (Node | string)[];
  draw(options: FigureOptions): SVGSVGElement;
}

/** Width of a figure that is saved, px. */
const savedWidth = 760;
/** Narrower than this the figure is scaled down. */
const leastWidth = 280;

export function figureBox(number: number, { file, caption, draw }: FigureBox): HTMLElement {
  const plate = element('div', { class: 'plate' });
  const save = saveLink('save as SVG', `${file}.svg`, 'image/svg+xml', () =>
    svgText(draw({ inks: lightInks, width: savedWidth, paper: true })),
  );
  let drawn = 0;
  new ResizeObserver(([entry]) => {
    const width = Math.max(leastWidth, Math.floor(entry.contentRect.width));
    if (width === drawn) return;
    drawn = width;
    plate.replaceChildren(draw({ inks: pageInks, width }));
  }).observe(plate);
  return element(
    'figure',
    { id: file },
    plate,
    element(
      'figcaption',
      { class: 'caption' },
      element('span', { class: 'label' }, `Figure ${number}.`),
      ' ',
      ...caption,
      ' ',
      save,
    ),
  );
}

function svgText(figure: SVGSVGElement): string {
  return `${new XMLSerializer().serializeToString(figure)}\n`;
}
