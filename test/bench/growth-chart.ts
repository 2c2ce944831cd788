/**
 * The growth of the cost as a figure: one small chart a work, both axes logarithmic, with the power law that
 * fits.
 */
import { sheet, svgElement } from '../../examples/dist/figures/figure.js';
import { lightInks as inks } from '../../examples/dist/figures/inks.js';
import type { GrowthResult } from './growth.ts';

const columns = 3;
const chart = { width: 250, height: 210, left: 44, right: 14, top: 40, bottom: 42 };

export function growthChart(results: readonly GrowthResult[], document: Document): SVGSVGElement {
  const rows = Math.ceil(results.length / columns);
  return sheet(
    { document, inks, paper: true },
    {
      width: columns * chart.width,
      height: rows * chart.height,
      alternative: `Time against the size of the work. ${results.map(altText).join(' ')}`,
    },
    ...results.map((result, i) => {
      const x = (i % columns) * chart.width;
      const y = Math.floor(i / columns) * chart.height;
      return svgElement(document, 'g', { transform: `translate(${x} ${y})` }, ...panel(result, document));
    }),
  );
}

const altText = ({ name, work, exponent, error }: GrowthResult): string =>
  `${name}: as ${work} to the power ${exponent.toFixed(2)} +- ${error.toFixed(2)}.`;

function panel(result: GrowthResult, document: Document): Node[] {
  const { name, axis, work, sizes, seconds, exponent, error, fitted } = result;
  const make = (tag: string, attributes: Record<string, string | number>, ...text: string[]): SVGElement =>
    svgElement(document, tag, attributes, ...text);
  const x = logScale(sizes, chart.left, chart.width - chart.right);
  const y = logScale(
    seconds.flatMap(({ lower, upper }) => [lower, upper]),
    chart.height - chart.bottom,
    chart.top,
  );
  const bottom = chart.height - chart.bottom;
  const line = sizes.map((size, i) => `${i === 0 ? 'M' : 'L'}${x(size)} ${y(fitted[i])}`).join('');
  return [
    make('text', { x: chart.left, y: 14, 'font-style': 'italic' }, name),
    make(
      'text',
      { x: chart.left, y: 30, 'font-size': 11, fill: inks.faint },
      `time as ${work} to the ${exponent.toFixed(3)} \u00b1 ${error.toFixed(3)}`,
    ),
    make('path', {
      d: `M${chart.left} ${chart.top}V${bottom}H${chart.width - chart.right}`,
      fill: 'none',
      stroke: inks.rule,
    }),
    ...decades(seconds.flatMap(({ lower, upper }) => [lower, upper])).flatMap((value) => [
      make('path', {
        d: `M${chart.left - 4} ${y(value)}H${chart.width - chart.right}`,
        stroke: inks.rule,
        'stroke-width': 0.6,
      }),
      make(
        'text',
        { x: chart.left - 6, y: y(value) + 4, 'text-anchor': 'end', 'font-size': 11 },
        timeText(value),
      ),
    ]),
    ...sizes.map((size) =>
      make('text', { x: x(size), y: bottom + 14, 'text-anchor': 'middle', 'font-size': 10 }, String(size)),
    ),
    make(
      'text',
      {
        x: (chart.left + chart.width - chart.right) / 2,
        y: bottom + 30,
        'text-anchor': 'middle',
        'font-size': 11,
      },
      axis,
    ),
    make('path', { d: line, fill: 'none', stroke: inks.accent, 'stroke-width': 1.2 }),
    ...sizes.flatMap((size, i) => [
      make('path', { d: `M${x(size)} ${y(seconds[i].lower)}V${y(seconds[i].upper)}`, stroke: inks.ink }),
      make('circle', { cx: x(size), cy: y(seconds[i].median), r: 2.6 }),
    ]),
  ];
}

/** From the range of the values, a twentieth wider at either end, to places from `from` to `to`. */
function logScale(values: readonly number[], from: number, to: number): (value: number) => number {
  const low = Math.log(Math.min(...values));
  const high = Math.log(Math.max(...values));
  const margin = Math.max(0.05 * (high - low), 0.05);
  const perUnit = (to - from) / (high - low + 2 * margin);
  return (value) => Math.round(10 * (from + (Math.log(value) - low + margin) * perUnit)) / 10;
}

/**
 * 1, 2 and 5 times the powers of ten within the range; the powers alone where these are many, more where they
 * are few.
 */
function decades(values: readonly number[]): number[] {
  const low = Math.min(...values);
  const high = Math.max(...values);
  if (high < 2.5 * low)
    return [low, Math.sqrt(low * high), high].map((value) => Number(value.toPrecision(2)));
  const all: number[] = [];
  for (let power = Math.floor(Math.log10(low)); power <= Math.ceil(Math.log10(high)); power++)
    for (const step of [1, 2, 5]) all.push(step * 10 ** power);
  const within = all.filter((value) => value >= low && value <= high);
  return within.length > 6
    ? within.filter((value) => Number.isInteger(Math.round(1e6 * Math.log10(value)) / 1e6))
    : within;
}

function timeText(seconds: number): string {
  if (seconds >= 1) return `${Number(seconds.toPrecision(2))} s`;
  if (seconds >= 1e-3) return `${Number((1e3 * seconds).toPrecision(2))} ms`;
  return `${Number((1e6 * seconds).toPrecision(2))} \u00b5s`;
}
