/** Figures in Node: a document to draw them with, and the text of an SVG file. */
import { DOMParser } from 'linkedom';

/**
 * A document that makes figures in Node.
 *
 * ```ts
 * writeFileSync('curve.svg', svgFileText(errorCurveFigure(report, { document: figureDocument(), paper: true })))
 * ```
 */
export function figureDocument(): Document {
  // An XML document, so that names with < or & in them are written as XML wants it.
  return new DOMParser().parseFromString('<svg/>', 'image/svg+xml') as unknown as Document;
}

/** A figure as the text of a file that any viewer opens. */
export function svgFileText(figure: SVGSVGElement): string {
  figure.setAttribute('xmlns', 'http://www.w3.org/2000/svg');
  return `${figure.outerHTML}\n`;
}
