/** One moment of the guided runs: where the telescope points with each way, and the guide star's ring, to one scale. */
import { significant } from '@holdfast/sim/internal';
import { tickText } from '../../figures/axis-ticks.ts';
import { type FigureOptions, sheet, svgElement } from '../../figures/figure.ts';
import { type Inks, lightInks, lineStyle } from '../../figures/inks.ts';
import { shiftText, shown } from '../../figures/number-words.ts';
import type { GuidedRuns } from '../compute/guided-run.ts';

export interface Moment {
  readonly runs: GuidedRuns;
  readonly timeS: number;
  /** Ring diameter in arcsec for a um of focus shift. */
  readonly arcsecPerUm: number;
  readonly blurArcsec: number;
  readonly obstructionRatio: number;
  /** Half the side of the plate, arcsec. */
  readonly reachArcsec: number;
}

/** How much of the path is drawn behind each point, s. */
const trailS = 30;
/** Side of the guide star's own square, px. */
const starSide = 130;

export function momentPlate(moment: Moment, options: FigureOptions): SVGSVGElement {
  const { document = globalThis.document, width = 760, inks = lightInks } = options;
  const { runs, timeS, arcsecPerUm, blurArcsec, reachArcsec } = moment;
  const side = Math.min(width - 2, 380);
  const middle = 1 + side / 2;
  const scale = side / 2 / reachArcsec;
  const [{ result }] = runs.ways;
  const at = Math.max(0, Math.min(result.series.errorX.length - 1, Math.floor(timeS / result.stepS)));
  const focus = result.series.focusShiftUm[at];
  const ring = Math.sqrt((Math.abs(focus) * arcsecPerUm) ** 2 + blurArcsec ** 2);
  const isNarrow = width < side + 240;
  const key = { x: isNarrow ? 2 : side + 26, y: isNarrow ? side + 24 : 20 };
  const paths = runs.ways.flatMap(({ result: { series } }, i) => {
    const { ink } = lineStyle(i);
    const from = Math.max(0, at - Math.round(trailS / series.stepS));
    let d = '';
    for (let k = from; k <= at; k++)
      d += `${d ? 'L' : 'M'}${(middle + scale * series.errorX[k]).toFixed(1)} ${(middle + scale * series.errorY[k]).toFixed(1)}`;
    return [
      svgElement(document, 'path', {
        d,
        fill: 'none',
        stroke: inks[ink],
        'stroke-width': 1.2,
        'stroke-opacity': 0.6,
      }),
      svgElement(document, 'circle', {
        cx: middle + scale * series.errorX[at],
        cy: middle + scale * series.errorY[at],
        r: 5,
        fill: inks[ink],
        stroke: inks.paper,
        'stroke-width': 1.5,
      }),
    ];
  });
  const lines = runs.ways.map(({ name, result: { series } }, i) => {
    const off = Math.sqrt(series.errorX[at] ** 2 + series.errorY[at] ** 2);
    return { text: shown(`${name}: ${off.toFixed(2)}″ off`), ink: inks[lineStyle(i).ink] };
  });
  const state = isInEvent(runs, timeS) ? 'the event is on' : 'the loop corrects';
  const words = [
    { text: `${timeS.toFixed(0)} s: ${state}`, ink: inks.ink },
    { text: shown(`guide star ${shiftText(focus)} out of focus`), ink: inks.ink },
    ...lines,
  ];
  return sheet(
    options,
    {
      width,
      height: Math.max(side + 2, key.y + 22 * words.length + starSide + 4),
      alternative: shown(
        `At ${timeS.toFixed(0)} s ${state}; the guide star is ${shiftText(focus)} out of focus, its light ${significant(ring, 2)} arcsec across. ${lines.map(({ text }) => text).join('; ')}.`,
      ),
    },
    svgElement(document, 'defs', {}, clipOf(side, document)),
    svgElement(document, 'rect', {
      x: 1,
      y: 1,
      width: side,
      height: side,
      fill: 'none',
      stroke: inks.ink,
      'stroke-width': 0.8,
    }),
    svgElement(
      document,
      'g',
      { 'clip-path': 'url(#moment-plate)' },
      svgElement(document, 'path', {
        d: `M${middle} 1V${side + 1}M1 ${middle}H${side + 1}`,
        stroke: inks.rule,
      }),
      ...paths,
    ),
    svgElement(
      document,
      'text',
      { x: side - 5, y: side - 6, 'text-anchor': 'end', fill: inks.faint },
      `± ${tickText(reachArcsec)}″`,
    ),
    ...guideStar(moment, Math.abs(focus), key.x, key.y + 22 * words.length - 4, document, inks),
    ...words.map(({ text, ink }, i) =>
      svgElement(document, 'text', { x: key.x, y: key.y + 22 * i, fill: ink }, text),
    ),
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

function clipOf(side: number, document: Document): SVGElement {
  return svgElement(
    document,
    'clipPath',
    { id: 'moment-plate' },
    svgElement(document, 'rect', { x: 1, y: 1, width: side, height: side }),
  );
}

export function isInEvent({ ways: [{ result }] }: GuidedRuns, timeS: number): boolean {
  const [span] = result.events;
  return span !== undefined && timeS >= span.startS && timeS <= span.endS;
}
