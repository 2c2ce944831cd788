/** What all figures share: their options, their lettering, and the sheet they are drawn on. */
import { type Inks, lightInks } from './inks.ts';

export interface FigureOptions {
  /** Who makes the elements; default: the page's own document. In Node: `figureDocument()`. */
  readonly document?: Document;
  /** Width of the figure, px. Below about 560 px it is laid out for a narrow page. */
  readonly width?: number;
  /** Default: `lightInks`. */
  readonly inks?: Inks;
  /** Paint the paper too, for a figure that stands alone. */
  readonly paper?: boolean;
}

const lettering =
  "Charter, 'Bitstream Charter', 'Iowan Old Style', 'Palatino Linotype', Palatino, 'Liberation Serif', Georgia, serif";
export const letterPx = 13;

const svgNamespace = 'http://www.w3.org/2000/svg';

export type Attributes = Readonly<Record<string, string | number>>;

/** An SVG element; strings among the children become text, never markup. */
export function svgElement(
  document: Document,
  name: string,
  attributes: Attributes = {},
  ...children: readonly (Node | string)[]
): SVGElement {
  const made = document.createElementNS(svgNamespace, name) as SVGElement;
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, String(value));
  for (const child of children)
    made.append(typeof child === 'string' ? document.createTextNode(child) : child);
  return made;
}

/** The figure's outermost element: one picture to a screen reader, described by `alternative`. */
export function sheet(
  { document = globalThis.document, inks = lightInks, paper = false }: FigureOptions,
  { width, height, alternative }: { width: number; height: number; alternative: string },
  ...children: readonly Node[]
): SVGSVGElement {
  const margin = paper ? 16 : 0;
  const box = `${-margin} ${-margin} ${width + 2 * margin} ${height + 2 * margin}`;
  return svgElement(
    document,
    'svg',
    {
      width: width + 2 * margin,
      height: height + 2 * margin,
      viewBox: box,
      role: 'img',
      'aria-label': alternative,
      'font-family': lettering,
      'font-size': letterPx,
      fill: inks.ink,
      color: inks.ink,
      style: 'max-width: 100%; height: auto',
    },
    ...(paper
      ? [
          svgElement(document, 'rect', {
            x: -margin,
            y: -margin,
            width: width + 2 * margin,
            height: height + 2 * margin,
            fill: inks.paper,
          }),
        ]
      : []),
    ...children,
  ) as SVGSVGElement;
}

/**
 * Put a plot into a sheet: the sheet speaks and styles for all, so the plot's own labels and style sheet go.
 */
export function place(plot: Element, x: number, y: number, document: Document): Element {
  plot.querySelector('style')?.remove();
  for (const part of plot.querySelectorAll('[aria-label], [aria-description], [aria-hidden]'))
    for (const name of ['aria-label', 'aria-description', 'aria-hidden']) part.removeAttribute(name);
  return svgElement(
    document,
    'g',
    { transform: `translate(${x} ${y})`, 'text-anchor': 'middle' },
    ...plot.childNodes,
  );
}

/** Paper around the letters, so that lines do not run through them. */
export function halo(text: SVGElement, inks: Inks): SVGElement {
  text.setAttribute('stroke', inks.paper);
  text.setAttribute('stroke-width', '4');
  text.setAttribute('paint-order', 'stroke');
  text.setAttribute('stroke-linejoin', 'round');
  return text;
}

/** Expected width of a text, px; a figure made in Node cannot measure it. */
export function textWidth(text: string, px = letterPx): number {
  return 0.5 * px * text.length;
}

/** A name from a rig file, short enough for a figure. */
export function shortName(name: string, letters = 22): string {
  const all = Array.from(name);
  return all.length > letters ? `${all.slice(0, letters - 1).join('')}…` : name;
}
