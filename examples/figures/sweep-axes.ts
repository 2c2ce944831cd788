/** What the figures of a sweep share: axes and their names, series, and the sheet around a plot. */
import type { SweepRow } from '@holdfast/sim';
import { settingLabel, significant } from '@holdfast/sim/internal';
import { type FigureOptions, place, sheet, svgElement } from './figure.ts';
import { lightInks } from './inks.ts';

/** Axes that a figure can be drawn over, with what they are called. */
export const axisLabels = {
  focusShiftUm: 'focus shift, µm',
  snr: 'SNR of the star on the sensor',
  obstructionRatio: 'obstruction ratio',
  seeingFwhmArcsec: 'seeing FWHM, arcsec',
  exposureS: 'exposure, s',
  binning: 'binning',
  pixelSizeUm: 'pixel size, µm',
  offAxisMm: 'off-axis distance, mm',
  clipDistance: 'clipping edge, radii of the aperture',
  neighborDistancePx: 'distance of the neighbor, px',
} as const;

export type Axis = keyof typeof axisLabels;

/**
 * The first two axes that vary and that a figure can be drawn over.
 *
 * @param axes  values of each axis
 * @throws RangeError when there is none
 */
export function drawnAxes(axes: Readonly<Record<string, readonly unknown[]>>): readonly [Axis, Axis?] {
  const [first, second] = Object.keys(axes).filter(
    (name): name is Axis => name in axisLabels && new Set(axes[name]).size > 1,
  );
  if (first === undefined)
    throw new RangeError(`a figure needs an axis that varies among ${Object.keys(axisLabels).join(', ')}`);
  return second === undefined ? [first] : [first, second];
}

/** Where a row stands on an axis; an SNR that was asked for is had but for rounding. */
export const placeOf = (row: SweepRow, axis: Axis): number => Number(Number(row[axis]).toPrecision(9));

/** Two estimators of one name differ by how they are set. */
export const seriesOf = (row: SweepRow): string =>
  settingLabel(row) + (row.thresholdSigma === undefined ? '' : `, ${row.thresholdSigma} sigma`);

/** A tick as a plain number. */
export const plain = (value: number): string => significant(value, 1);

/** The plot with its axis names and a text alternative that holds the range of its numbers. */
export function framed(
  rows: readonly SweepRow[],
  xAxis: Axis,
  title: string,
  plot: Element,
  height: number,
  options: FigureOptions & { readonly document: Document; readonly width: number },
): SVGSVGElement {
  const { document, width, inks = lightInks } = options;
  const errors = rows.flatMap(({ noiseEquivalentArcsec }) =>
    noiseEquivalentArcsec ? [noiseEquivalentArcsec.value] : [],
  );
  const alternative =
    `${title}, over ${axisLabels[xAxis]}: from ${significant(Math.min(...errors), 2)} to ` +
    `${significant(Math.max(...errors), 2)} arcsec in ${rows.length} rows of ${rows[0].trials} trials or fewer`;
  return sheet(
    options,
    { width, height: height + 46, alternative },
    svgElement(document, 'text', { x: 0, y: 14, fill: inks.ink }, title),
    place(plot, 0, 22, document),
    svgElement(
      document,
      'text',
      { x: width / 2, y: height + 34, 'text-anchor': 'middle', fill: inks.ink },
      `${axisLabels[xAxis]}; dotted: largest error that the budget allows`,
    ),
  );
}
