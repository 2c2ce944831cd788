/** What each line of the error curve is: named at its end, or by a key where there is no room. */
import * as Plot from '@observablehq/plot';
import type { CurveData } from './curve-data.ts';
import { type CurveLayout, rowPx } from './curve-layout.ts';
import { halo, place, svgElement } from './figure.ts';
import { spreadOut } from './flags.ts';
import { type Inks, lineStyle } from './inks.ts';

const budgetWords = ({ budgetText }: CurveData): string => `the budget allows ${budgetText}″`;

/** Each line named at its own end, as far as its end can be seen. */
export function lineNames(data: CurveData, layout: CurveLayout, document: Document, inks: Inks): Node[] {
  const { low, high } = data.errorRange;
  const yOf = (arcsec: number) =>
    layout.errorTop + layout.errorHeight * (1 - Math.log(arcsec / low) / Math.log(high / low));
  const xOf = (um: number) =>
    layout.left + (um / layout.farthestUm) * (layout.width - layout.left - layout.right);
  const ends = [
    ...data.lines.flatMap(({ label, points, index, own }) => {
      const end = points.filter((point) => point.y !== undefined).pop();
      return end ? [{ words: label, end, ink: inks[lineStyle(index).ink], own }] : [];
    }),
    { words: 'least possible error', end: data.bound[data.bound.length - 1], ink: inks.faint, own: false },
    {
      words: budgetWords(data),
      end: { x: data.farthestUm, y: data.budgetArcsec },
      ink: inks.ink,
      own: false,
    },
  ];
  const heights = spreadOut(
    ends.map(({ end }) => yOf(end.y)),
    2 * rowPx - 2,
  );
  return ends.map(({ words, end, ink, own }, i) => {
    const x = xOf(end.x) + 10;
    const [first, second] = halves(words);
    return halo(
      svgElement(
        document,
        'text',
        { x, y: heights[i] + (second ? -3 : 4), fill: ink, 'font-weight': own ? 'bold' : 'normal' },
        svgElement(document, 'tspan', { x }, first),
        ...(second ? [svgElement(document, 'tspan', { x, dy: 15 }, second)] : []),
      ),
      inks,
    );
  });
}

/** On a narrow page: what each line is, above the figure. */
export function lineKey(data: CurveData, { width }: CurveLayout, document: Document, inks: Inks): Node[] {
  const entries = [
    ...data.lines.map(({ label, index, own }) => ({ label, ...lineStyle(index), own })),
    { label: 'least possible error', ink: 'faint', dash: 'none', own: false } as const,
    { label: budgetWords(data), ink: 'ink', dash: '1 3', own: false } as const,
  ];
  const key = Plot.plot({
    document,
    width,
    height: rowPx * entries.length,
    margin: 0,
    x: { domain: [0, width], axis: null },
    y: { domain: [entries.length - 0.5, -0.5], axis: null },
    marks: entries.flatMap((entry, row) => {
      const ink = inks[entry.ink];
      return [
        Plot.ruleY([row], {
          x1: 2,
          x2: 38,
          stroke: ink,
          strokeWidth: entry.own ? 2.4 : 1.4,
          strokeDasharray: entry.dash,
        }),
        ...('symbol' in entry
          ? [
              Plot.dot([row], {
                x: 20,
                y: row,
                r: 3,
                symbol: entry.symbol,
                stroke: ink,
                fill: entry.own ? ink : inks.paper,
              }),
            ]
          : []),
        Plot.text([entry.label], {
          x: 46,
          y: row,
          text: (label: string) => label,
          textAnchor: 'start',
          fill: ink,
          fontWeight: entry.own ? 'bold' : 'normal',
        }),
      ];
    }),
  });
  return [place(key, 0, 0, document)];
}

/** Two lines of a long name, broken at the space nearest to its middle. */
function halves(words: string): [string, string?] {
  if (words.length < 16) return [words];
  const spaces = [...words.matchAll(/ /g)].map(({ index }) => index);
  if (spaces.length === 0) return [words];
  const at = spaces.reduce((a, b) =>
    Math.abs(b - words.length / 2) < Math.abs(a - words.length / 2) ? b : a,
  );
  return [words.slice(0, at), words.slice(at + 1)];
}
