/**
 * Guiding through an event: how far the star strays with each way, the focus meanwhile, and what the picture
 * gets.
 */
import * as Plot from '@observablehq/plot';
import type { TrackingComparison } from '../reports/tracking-comparison.ts';
import { type FigureOptions, letterPx, place, sheet, svgElement, textWidth } from './figure.ts';
import { type Inks, lightInks, lineStyle } from './inks.ts';

interface Line {
  readonly name: string;
  readonly ink: string;
  readonly dash: string;
  /** Distance from the set point in each guide frame, arcsec. */
  readonly distances: readonly { readonly timeS: number; readonly arcsec: number }[];
  readonly growth: readonly { readonly startS: number; readonly endS: number; readonly percent: number }[];
}

const left = 58;
const right = 14;
const distanceHeight = 260;
const focusHeight = 84;
const growthHeight = 130;
const gap = 20;
const axis = { label: null, fontSize: letterPx, tickSize: 4 };

/**
 * Three panels over the time of the first run: distance of the telescope from the set point, averaged over
 * each guide frame; focus shift of the guide camera; growth of the picture's stars in each exposure, mean of
 * all runs.
 */
export function trackFigure(comparison: TrackingComparison, options: FigureOptions = {}): SVGSVGElement {
  const { document = globalThis.document, width = 760, inks = lightInks } = options;
  const lines = linesOf(comparison, inks);
  const keyRows = keyOf(lines, width, document, inks);
  const top = 18 * keyRows.rows + 8;
  const focusTop = top + distanceHeight + gap;
  const growthTop = focusTop + focusHeight + gap;
  const height = growthTop + growthHeight + 44;
  const [{ result }] = comparison.ways;
  const span = result.events[0];
  const shade = (low: number, high: number): Plot.Markish[] =>
    span === undefined
      ? []
      : [
          Plot.rect([span], {
            x1: 'startS',
            x2: 'endS',
            y1: low,
            y2: high,
            fill: inks.ink,
            fillOpacity: 0.07,
          }),
        ];
  const panel = (panelHeight: number, y: Plot.ScaleOptions, marks: Plot.Markish[], isLast = false) =>
    Plot.plot({
      document,
      width,
      height: panelHeight + (isLast ? 26 : 6),
      marginTop: 3,
      marginBottom: isLast ? 23 : 3,
      marginLeft: left,
      marginRight: right,
      x: { domain: [0, result.durationS], axis: null },
      y: { ...y, axis: null },
      marks: [
        ...marks,
        Plot.axisY({ ...axis, anchor: 'left', ticks: 5 }),
        ...(isLast ? [Plot.axisX({ ...axis, anchor: 'bottom', ticks: 8 })] : []),
        Plot.ruleX([0], { stroke: inks.ink, strokeWidth: 0.8 }),
      ],
    });
  const farthest =
    1.05 * Math.max(0.1, ...lines.flatMap(({ distances }) => distances.map(({ arcsec }) => arcsec)));
  const focus = Array.from(result.series.focusShiftUm, (shift, i) => ({
    timeS: (i + 0.5) * result.stepS,
    shift,
  })).filter(
    (point, i, all) =>
      i === 0 || i === all.length - 1 || point.shift !== all[i - 1].shift || point.shift !== all[i + 1].shift,
  );
  const shifts = focus.map(({ shift }) => shift);
  const [low, high] = padded(Math.min(...shifts), Math.max(...shifts), 10);
  const most = 1.1 * Math.max(1, ...lines.flatMap(({ growth }) => growth.map(({ percent }) => percent)));
  return sheet(
    options,
    { width, height, alternative: alternativeOf(comparison) },
    ...keyRows.nodes,
    place(
      panel(distanceHeight, { domain: [0, farthest] }, [
        ...shade(0, farthest),
        Plot.gridY({ stroke: inks.rule, strokeOpacity: 0.7, ticks: 5 }),
        ...lines.map(({ distances, ink, dash }) =>
          Plot.lineY(distances, {
            x: 'timeS',
            y: 'arcsec',
            stroke: ink,
            strokeWidth: 1.3,
            strokeDasharray: dash,
          }),
        ),
        Plot.ruleY([0], { stroke: inks.ink, strokeWidth: 0.8 }),
      ]),
      0,
      top,
      document,
    ),
    place(
      panel(focusHeight, { domain: [low, high] }, [
        ...shade(low, high),
        Plot.lineY(focus, { x: 'timeS', y: 'shift', stroke: inks.ink, strokeWidth: 1.2 }),
      ]),
      0,
      focusTop,
      document,
    ),
    place(
      panel(
        growthHeight,
        { domain: [0, most] },
        [
          ...shade(0, most),
          Plot.gridY({ stroke: inks.rule, strokeOpacity: 0.7, ticks: 5 }),
          ...lines.map(({ growth, ink, dash }) =>
            Plot.ruleY(growth, {
              x1: 'startS',
              x2: 'endS',
              y: 'percent',
              stroke: ink,
              strokeWidth: 2.2,
              strokeDasharray: dash,
            }),
          ),
          Plot.ruleY([0], { stroke: inks.ink, strokeWidth: 0.8 }),
        ],
        true,
      ),
      0,
      growthTop,
      document,
    ),
    along('off the set point, arcsec', top + distanceHeight / 2, document),
    along('focus, µm', focusTop + focusHeight / 2, document),
    along('growth, %', growthTop + growthHeight / 2, document),
    svgElement(
      document,
      'text',
      { x: (left + width - right) / 2, y: height - 4, 'text-anchor': 'middle' },
      'time, s',
    ),
  );
}

function linesOf({ ways }: TrackingComparison, inks: Inks): Line[] {
  const distancesOf = (series: (typeof ways)[number]['result']['series']) =>
    Array.from(series.frames.errorX, (x, i) => ({
      timeS: series.frames.firstS + i * series.frames.intervalS + series.frames.exposureS / 2,
      arcsec: Math.sqrt(x * x + series.frames.errorY[i] ** 2),
    }));
  const lines = ways.map(({ name, result }, i): Line => {
    const { ink, dash } = lineStyle(i);
    return {
      name,
      ink: inks[ink],
      // The plain line is that without the event: by night all lines have one color.
      dash: dash === 'none' ? '12 3 2 3' : dash,
      distances: distancesOf(result.series),
      growth: result.picture.map(({ startS, endS, growthPercent }) => ({
        startS,
        endS,
        percent: growthPercent.value,
      })),
    };
  });
  const [{ result }] = ways;
  if (result.seriesWithout === undefined) return lines;
  const without: Line = {
    name: 'without the event',
    ink: inks.faint,
    dash: 'none',
    distances: distancesOf(result.seriesWithout),
    growth: result.picture.flatMap(({ startS, endS, without }) =>
      without ? [{ startS, endS, percent: without.growthPercent.value }] : [],
    ),
  };
  return [without, ...lines];
}

/** A short piece of each line with its name, in as many rows as the width asks for. */
function keyOf(
  lines: readonly Line[],
  width: number,
  document: Document,
  inks: Inks,
): { rows: number; nodes: Node[] } {
  const sample = 30;
  let x = left;
  let row = 0;
  const nodes = lines.map(({ name, ink, dash }) => {
    const needs = sample + 6 + textWidth(name) + 22;
    if (x > left && x + needs > width) {
      x = left;
      row++;
    }
    const y = 18 * row + 9;
    const piece = svgElement(document, 'line', {
      x1: x,
      x2: x + sample,
      y1: y,
      y2: y,
      stroke: ink,
      'stroke-width': 2,
      'stroke-dasharray': dash,
    });
    const text = svgElement(document, 'text', { x: x + sample + 6, y: y + 4, fill: inks.ink }, name);
    x += needs;
    return svgElement(document, 'g', {}, piece, text);
  });
  return { rows: row + 1, nodes };
}

function padded(low: number, high: number, least: number): [number, number] {
  const pad = Math.max(least, 0.08 * (high - low));
  return [low - pad, high + pad];
}

function along(words: string, y: number, document: Document): Node {
  const at = { transform: `translate(12 ${y}) rotate(-90)`, 'text-anchor': 'middle' };
  return svgElement(document, 'text', at, words);
}

function alternativeOf({ rig, event, ways }: TrackingComparison): string {
  const rms = ways.map(({ name, result }) => {
    const { rmsX, rmsY } = result.events[0]?.during ?? result.position;
    return `${name} ${rmsX.value.toFixed(2)} and ${rmsY.value.toFixed(2)} arcsec`;
  });
  const what = event === null ? 'guiding' : `guiding through a ${event.kind.replace('-', ' ')}`;
  return `${rig}, ${what}: rms position errors in x and y: ${rms.join('; ')}.`;
}
