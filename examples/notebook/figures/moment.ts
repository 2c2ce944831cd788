/**
 * One moment of the guided runs: how far each way is from the set point, on one axis, and the guide star's
 * ring.
 */
import { significant } from '@holdfast/sim/internal';
import { evenTicks, tickText } from '../../figures/axis-ticks.ts';
import { type FigureOptions, sheet, svgElement } from '../../figures/figure.ts';
import { type Inks, lightInks, lineStyle } from '../../figures/inks.ts';
import { shiftText, shown } from '../../figures/number-words.ts';
import type { GuidedRuns } from '../compute/guided-run.ts';

type Series = GuidedRuns['ways'][number]['result']['series'];

export interface Moment {
  readonly runs: GuidedRuns;
  readonly timeS: number;
  /** Ring diameter in arcsec for a um of focus shift. */
  readonly arcsecPerUm: number;
  readonly blurArcsec: number;
  readonly obstructionRatio: number;
  /** End of the axis, arcsec. */
  readonly reachArcsec: number;
}

/** How much of the past is drawn along each axis, s. */
const pastS = 30;
const rowPx = 62;
const top = 28;
/** Side of the guide star's own square, px. */
const starSide = 130;

export function momentPlate(moment: Moment, options: FigureOptions): SVGSVGElement {
  const { document = globalThis.document, width = 760, inks = lightInks } = options;
  const { runs, timeS, arcsecPerUm, blurArcsec, reachArcsec } = moment;
  const [{ result }] = runs.ways;
  const at = Math.max(0, Math.min(result.series.errorX.length - 1, Math.floor(timeS / result.stepS)));
  const focus = result.series.focusShiftUm[at];
  const ring = Math.sqrt((Math.abs(focus) * arcsecPerUm) ** 2 + blurArcsec ** 2);
  const axisWidth = width < 560 ? width - 4 : width - starSide - 60;
  const xAt = (arcsec: number) => 8 + ((axisWidth - 16) * arcsec) / reachArcsec;
  const base = top + rowPx * runs.ways.length;
  const distanceAt = ({ errorX, errorY }: Series, k: number) => Math.sqrt(errorX[k] ** 2 + errorY[k] ** 2);
  const lines = runs.ways.map(({ name, result: { series } }, i) => ({
    text: shown(`${name}: ${distanceAt(series, at).toFixed(2)}″ off`),
    ink: inks[lineStyle(i).ink],
  }));
  const rows = runs.ways.flatMap(({ result: { series } }, i) => {
    const y = top + rowPx * i + 34;
    const from = Math.max(0, at - Math.round(pastS / series.stepS));
    let past = '';
    for (let k = from; k < at; k++) past += `M${xAt(distanceAt(series, k)).toFixed(1)} ${y - 5}v10`;
    const { ink } = lineStyle(i);
    return [
      svgElement(document, 'text', { x: 8, y: y - 14, fill: lines[i].ink }, lines[i].text),
      svgElement(document, 'path', { d: `M8 ${y}H${axisWidth - 8}`, stroke: inks.rule }),
      svgElement(document, 'path', { d: past, stroke: inks[ink], 'stroke-opacity': 0.18 }),
      svgElement(document, 'path', {
        d: `M${xAt(distanceAt(series, at)).toFixed(1)} ${y - 10}v20`,
        stroke: inks[ink],
        'stroke-width': 4,
      }),
    ];
  });
  const ticks = evenTicks(reachArcsec, 5).flatMap((tick) => [
    svgElement(document, 'path', { d: `M${xAt(tick)} ${base + 4}v5`, stroke: inks.ink }),
    svgElement(document, 'text', { x: xAt(tick), y: base + 24, 'text-anchor': 'middle' }, tickText(tick)),
  ]);
  const state = isInEvent(runs, timeS) ? 'the event is on' : 'the loop corrects';
  const star = width < 560 ? { x: 8, y: base + 64 } : { x: axisWidth + 50, y: top };
  return sheet(
    options,
    {
      width,
      height: Math.max(base + 52, star.y + starSide + 4),
      alternative: shown(
        `At ${timeS.toFixed(0)} s ${state}; the guide star is ${shiftText(focus)} out of focus, its light ${significant(ring, 2)} arcsec across. ${lines.map(({ text }) => text).join('; ')}.`,
      ),
    },
    svgElement(
      document,
      'text',
      { x: 8, y: 14 },
      shown(`${timeS.toFixed(0)} s: ${state}; guide star ${shiftText(focus)} out of focus`),
    ),
    ...rows,
    svgElement(document, 'path', { d: `M8 ${base + 4}H${axisWidth - 8}`, stroke: inks.ink }),
    ...ticks,
    svgElement(
      document,
      'text',
      { x: axisWidth / 2, y: base + 44, 'text-anchor': 'middle' },
      'distance from the set point, arcsec',
    ),
    ...guideStar(moment, Math.abs(focus), star.x, star.y, document, inks),
  );
}

/** The guide star as a ring, to a scale at which the widest of the run fills the square. */
function guideStar(
  { runs, arcsecPerUm, blurArcsec, obstructionRatio }: Moment,
  focusUm: number,
  left: number,
  top: number,
  document: Document,
  inks: Inks,
): Node[] {
  const { focusShiftUm } = runs.ways[0].result.series;
  let widestUm = 0;
  for (const shift of focusShiftUm) widestUm = Math.max(widestUm, Math.abs(shift));
  const across = (um: number) => um * arcsecPerUm + blurArcsec;
  const scale = starSide / across(widestUm);
  const middle = starSide / 2;
  const outer = (scale * across(focusUm)) / 2;
  const hole = Math.max(0, (scale * (focusUm * arcsecPerUm * obstructionRatio - blurArcsec / 2)) / 2);
  const circle = (r: number) =>
    `M${middle - r} ${middle}a${r} ${r} 0 1 0 ${2 * r} 0a${r} ${r} 0 1 0 ${-2 * r} 0Z`;
  return [
    svgElement(
      document,
      'g',
      { transform: `translate(${left} ${top})` },
      svgElement(document, 'path', {
        d: circle(outer) + (hole > 0 ? circle(hole) : ''),
        'fill-rule': 'evenodd',
        fill: inks.ink,
        'fill-opacity': Math.min(0.9, Math.max(0.08, (scale * blurArcsec) ** 2 / (4 * outer * outer))),
        stroke: inks.faint,
      }),
    ),
  ];
}

export function isInEvent({ ways: [{ result }] }: GuidedRuns, timeS: number): boolean {
  const [span] = result.events;
  return span !== undefined && timeS >= span.startS && timeS <= span.endS;
}
