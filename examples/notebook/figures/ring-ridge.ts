/** The light of the star along a line, one profile above the other from one side of focus to the other. */
import { significant } from '@holdfast/sim/internal';
import { evenTicks, tickText } from '../../figures/axis-ticks.ts';
import { estimatorMark, methodStyle } from '../../figures/estimator-mark.ts';
import { type FigureOptions, sheet, svgElement } from '../../figures/figure.ts';
import { lightInks } from '../../figures/inks.ts';
import { shiftText, shown } from '../../figures/number-words.ts';
import type { RingProfile } from '../compute/ring-profile.ts';
import { plainFixed } from './fixed.ts';

const rowPx = 62;

export function ringRidge(profiles: readonly RingProfile[], options: FigureOptions): SVGSVGElement {
  const { document = globalThis.document, width = 760, inks = lightInks } = options;
  const narrow = width < 560;
  const left = narrow ? 66 : 92;
  const right = narrow ? 8 : 120;
  const reach = Math.max(...profiles.flatMap(({ points }) => points.map(({ x }) => Math.abs(x)))) + 1;
  const xOf = (px: number) => left + ((px + reach) / (2 * reach)) * (width - left - right);
  // The highest profile reaches 1.15 rows above its line, and the name of the marks stands above that.
  const top = 1.15 * rowPx + 22;
  const bottom = top + rowPx * (profiles.length - 1) + 26;
  const baseOf = (row: number) => top + rowPx * row;
  const rows = profiles.flatMap((profile, row) => {
    const peak = Math.max(...profile.points.map(({ y }) => y));
    const yOf = (y: number) => baseOf(row) - (1.15 * rowPx * y) / peak;
    const line = profile.points
      .map(({ x, y }, i) => `${i ? 'L' : 'M'}${xOf(x).toFixed(1)} ${yOf(Math.max(0, y)).toFixed(1)}`)
      .join('');
    const first = profile.points[0];
    const last = profile.points[profile.points.length - 1];
    const base = baseOf(row).toFixed(1);
    return [
      svgElement(document, 'path', {
        d: `${line}L${xOf(last.x).toFixed(1)} ${base}L${xOf(first.x).toFixed(1)} ${base}Z`,
        fill: inks.paper,
        'fill-opacity': 0.82,
      }),
      svgElement(document, 'path', { d: line, fill: 'none', stroke: inks.ink, 'stroke-width': 1.3 }),
      svgElement(document, 'line', { x1: left, x2: width - right, y1: base, y2: base, stroke: inks.rule }),
      svgElement(
        document,
        'text',
        { x: left - 10, y: baseOf(row) + 4, 'text-anchor': 'end' },
        shiftText(profile.focusShiftUm),
      ),
      ...(narrow
        ? []
        : [
            svgElement(
              document,
              'text',
              { x: width - right + 10, y: baseOf(row) + 4, fill: inks.faint },
              shown(`peak ${significant(peak, 3)} e⁻`),
            ),
          ]),
    ];
  });
  const path = profiles
    .map(({ centerOfMassPx }, row) => `${row ? 'L' : 'M'}${xOf(centerOfMassPx).toFixed(2)} ${baseOf(row)}`)
    .join('');
  const marks = profiles.map(({ centerOfMassPx }, row) =>
    estimatorMark('centerOfMass', xOf(centerOfMassPx), baseOf(row), 3.6, document, inks),
  );
  const ink = inks[methodStyle('centerOfMass').ink];
  const labelX = xOf(profiles[0].centerOfMassPx) - 32;
  const ticks = [...new Set(evenTicks(reach, 4).flatMap((tick) => [tick, -tick]))];
  return sheet(
    options,
    { width, height: bottom + 34, alternative: alternativeOf(profiles) },
    ...rows,
    svgElement(document, 'path', { d: path, fill: 'none', stroke: ink, 'stroke-width': 1.4 }),
    ...marks,
    // Above every profile, so that none crosses it.
    estimatorMark('centerOfMass', labelX - 12, 8, 3.6, document, inks),
    svgElement(document, 'text', { x: labelX, y: 12, fill: ink }, 'center of mass'),
    ...ticks.flatMap((tick) => [
      svgElement(document, 'line', {
        x1: xOf(tick),
        x2: xOf(tick),
        y1: bottom - 12,
        y2: bottom - 8,
        stroke: inks.ink,
      }),
      svgElement(
        document,
        'text',
        { x: xOf(tick), y: bottom + 6, 'text-anchor': 'middle' },
        shown(tickText(tick)),
      ),
    ]),
    svgElement(
      document,
      'text',
      { x: (left + width - right) / 2, y: bottom + 27, 'text-anchor': 'middle' },
      narrow ? 'px from a perfect star’s place' : 'px from where a perfect star would stand',
    ),
  );
}

function alternativeOf(profiles: readonly RingProfile[]): string {
  const told = profiles.map(
    ({ focusShiftUm, outerDiameterPx, centerOfMassPx, points }) =>
      `${shiftText(focusShiftUm)}: ring of ${outerDiameterPx.toFixed(1)} px, peak ${significant(Math.max(...points.map(({ y }) => y)), 3)} electrons, center of mass at ${plainFixed(centerOfMassPx, 3)} px`,
  );
  return shown(`Profiles of the star’s expected light on both sides of focus. ${told.join('; ')}.`);
}
