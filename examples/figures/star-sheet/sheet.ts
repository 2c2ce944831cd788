/** The figure sheet: plates in rows, with what was asked for and what was measured beneath each. */
import { type Attributes, type FigureOptions, sheet, svgElement, textWidth } from '../figure.ts';
import { type Inks, inkOf, lightInks } from '../inks.ts';
import { measuresOf, parametersOf } from './captions.ts';
import type { MeasuredStar } from './measure.ts';
import { plate, platePx, tickPx } from './plate.ts';
import { platePicture } from './plate-picture.ts';
import type { SheetSection } from './stars.ts';

export interface MeasuredSection extends Omit<SheetSection, 'stars'> {
  readonly stars: readonly MeasuredStar[];
}

const columns = 5;
const gapPx = 30;
const leftPx = tickPx + 2;
const width = leftPx + columns * platePx + (columns - 1) * gapPx;
const captionPx = 10.5;
const linePx = 13;
/** From a caption's left edge to the measured values. */
const valuesPx = 58;

const explanation = [
  'Each plate is a stamp of the guide camera without noise, printed as a negative.',
  'Ticks: the requested position. Blue: the center of mass of the light in the stamp,',
  'and the ellipse of its rms widths. Below: the share of the light outside the stamp,',
  'the center found, and the expected center of all the light; both from the requested',
  'position. x to the right, y downwards, angles from +x toward +y.',
];

type Write = (x: number, y: number, words: string, attributes?: Attributes) => SVGElement;

/** All sections, each with up to five stars in a row. */
export function starSheet(
  sections: readonly MeasuredSection[],
  { document = globalThis.document, inks = lightInks }: FigureOptions = {},
): SVGSVGElement {
  const write: Write = (x, y, words, attributes = {}) =>
    svgElement(document, 'text', { x, y, ...attributes }, words);
  const parts: Node[] = heading(document, inks, write);
  let top = 106;
  let number = 1;
  for (const { title, note, stars } of sections) {
    parts.push(
      svgElement(document, 'line', { x2: width, y1: top, y2: top, stroke: inks.ink, 'stroke-width': 0.8 }),
      write(0, top + 20, title, { 'font-size': 15, 'font-style': 'italic' }),
      write(width, top + 20, note, { 'font-size': 11.5, fill: inks.faint, 'text-anchor': 'end' }),
    );
    const plateTop = top + 34 + tickPx;
    let lowest = 0;
    stars.forEach((star, column) => {
      const place = { transform: `translate(${leftPx + column * (platePx + gapPx)} ${plateTop})` };
      const { lines, height } = caption(star, number++, inks, write);
      parts.push(svgElement(document, 'g', place, plate(star, document, inks), ...lines));
      lowest = Math.max(lowest, height);
    });
    top = plateTop + lowest + 24;
  }
  return sheet(
    { document, inks, paper: true },
    { width, height: top - 16, alternative: alternativeOf(sections) },
    ...parts,
  );
}

function heading(document: Document, inks: Inks, write: Write): Node[] {
  const small = { 'font-size': 11.5, fill: inks.faint };
  const wedge = { left: width - 188, width: 188, top: 34, height: 14 };
  const shades = Float64Array.from({ length: wedge.width }, (_, k) => inkOf((k + 0.5) / wedge.width));
  return [
    svgElement(document, 'rect', { width, height: 3, fill: inks.ink }),
    write(0, 38, 'Star shapes', { 'font-size': 26 }),
    write(0, 59, 'every kind that @holdfast/psf draws,', small),
    write(0, 74, 'drawn and measured', small),
    ...explanation.map((line, n) => write(leftPx + platePx + gapPx, 24 + 15 * n, line, small)),
    write(wedge.left, 24, 'Ink for the light of a pixel, brightest = 1', small),
    svgElement(document, 'image', {
      x: wedge.left,
      y: wedge.top,
      width: wedge.width,
      height: wedge.height,
      preserveAspectRatio: 'none',
      href: platePicture(shades, wedge.width, inks.ink),
    }),
    svgElement(document, 'rect', {
      x: wedge.left,
      y: wedge.top,
      width: wedge.width,
      height: wedge.height,
      fill: 'none',
      stroke: inks.ink,
      'stroke-width': 0.8,
    }),
    ...[0, 0.1, 0.25, 0.5, 1].flatMap((light) => {
      const x = wedge.left + wedge.width * light;
      const foot = wedge.top + wedge.height;
      return [
        svgElement(document, 'path', { d: `M${x} ${foot}v4`, stroke: inks.ink, 'stroke-width': 0.8 }),
        write(x, foot + 15, String(light), { 'font-size': 10, 'text-anchor': 'middle' }),
      ];
    }),
  ];
}

/** Title, parameters and measures of a star, placed beneath its plate. */
function caption(
  star: MeasuredStar,
  number: number,
  inks: Inks,
  write: Write,
): { readonly lines: SVGElement[]; readonly height: number } {
  let y = platePx + 18;
  const lines = [write(0, y, `${number}. ${star.title}`, { 'font-size': 12, 'font-weight': 'bold' })];
  const { darker } = star;
  const asked = [
    ...parametersOf(star.shape),
    ...(darker === undefined ? [] : [`printed ${darker} times darker`]),
  ];
  for (const words of setInLines(asked)) {
    y += linePx;
    lines.push(write(0, y, words, { 'font-size': captionPx }));
  }
  y += 4;
  for (const { name, value } of measuresOf(star)) {
    y += linePx;
    lines.push(write(0, y, name, { 'font-size': captionPx, 'font-style': 'italic', fill: inks.faint }));
    lines.push(write(valuesPx, y, value, { 'font-size': captionPx, fill: inks.accent }));
  }
  return { lines, height: y };
}

/** Phrases one after the other, broken between them where a line is full. */
function setInLines(phrases: readonly string[]): string[] {
  const lines: string[] = [];
  for (const phrase of phrases) {
    const last = lines.length - 1;
    const longer = `${lines[last]}, ${phrase}`;
    if (last >= 0 && textWidth(longer, 0.9 * captionPx) <= platePx + gapPx - 18) lines[last] = longer;
    else {
      if (last >= 0) lines[last] += ',';
      lines.push(phrase);
    }
  }
  return lines;
}

function alternativeOf(sections: readonly MeasuredSection[]): string {
  const told = sections.map(({ title, stars }) => `${title}: ${stars.map((star) => star.title).join('; ')}`);
  return `A sheet of negative plates of every star shape that the library draws, each with its parameters and what was measured on it. ${told.join('. ')}.`;
}
