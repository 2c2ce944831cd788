/** What a sweep varies: axes that are combined each with each, or a list of settings, cut into cells. */

import { requireList, shown } from '@holdfast/psf/numerics';
import { type EstimatorName, estimatorNames } from '../rig/rig-schema.ts';
import { type EstimatorSetting, settingOf } from '../trials/estimators.ts';
import type { AnyEstimator } from '../trials/own-estimator.ts';
import type { SceneSetting } from '../trials/scene.ts';

/** Axes that change what the camera sees; each combination is a cell of the grid. */
export const sceneAxisNames = [
  'focusShiftUm',
  'obstructionRatio',
  'snr',
  'magnitude',
  'seeingFwhmArcsec',
  'pixelSizeUm',
  'binning',
  'exposureS',
  'offAxisMm',
  'clipDistance',
  'neighborDistancePx',
  'neighborMagnitudeDifference',
] as const satisfies readonly (keyof SceneSetting)[];

/** Values to combine, each with each. An axis left out stays as the rig says. */
export type SweepAxes<Estimator extends AnyEstimator = EstimatorName> = {
  readonly [Name in (typeof sceneAxisNames)[number]]?: readonly number[];
} & {
  /** Default: every one of ours. All that are asked for measure the same frames of a cell. */
  readonly estimator?: readonly Estimator[];
  /** Thresholds of the thresholded center of mass, sigmas of a pixel's noise. */
  readonly thresholdSigma?: readonly number[];
  /** Sides of the square that is measured, px. */
  readonly windowPx?: readonly number[];
};

/** Most cells that a sweep may have: more is surely a mistake, and its rows would not fit in memory. */
export const mostCells = 1_000_000;

/**
 * The scene settings of a grid, last axis fastest, in the order of `sceneAxisNames`.
 *
 * @throws RangeError when an axis is empty, unknown, repeats a value or holds one that is not finite; when
 *         snr and magnitude are both given; or when there are more than a million cells
 */
export function gridSettings(axes: SweepAxes<AnyEstimator>): SceneSetting[] {
  const known: readonly string[] = [...sceneAxisNames, 'estimator', 'thresholdSigma', 'windowPx'];
  for (const name of Object.keys(axes))
    if (!known.includes(name)) throw new RangeError(`axes.${name} must be one of ${known.join(', ')}`);
  if (axes.snr !== undefined && axes.magnitude !== undefined)
    throw new RangeError('axes must hold snr or magnitude, got both');
  const cells = sceneAxisNames.reduce((product, name) => product * (checkedAxis(axes, name)?.length ?? 1), 1);
  if (cells > mostCells) throw new RangeError(`axes must make at most ${mostCells} cells, got ${cells}`);
  let settings: Partial<SceneSetting>[] = [{}];
  for (const name of sceneAxisNames) {
    const values = axes[name];
    if (values !== undefined)
      settings = settings.flatMap((setting) => values.map((value) => ({ ...setting, [name]: value })));
  }
  return settings.map((setting) => ({ focusShiftUm: 0, ...setting }));
}

/**
 * The estimator settings of a grid: a threshold varies only where there is one.
 *
 * @throws RangeError as `gridSettings` does
 */
export function gridEstimators<Estimator extends AnyEstimator>(
  axes: SweepAxes<Estimator>,
): EstimatorSetting<Estimator>[] {
  const estimators = axes.estimator ?? (estimatorNames as readonly AnyEstimator[] as readonly Estimator[]);
  if (estimators.length === 0) throw new RangeError('axes.estimator must hold at least one value, got none');
  for (const [i, name] of estimators.entries())
    if (typeof name === 'object') settingOf(name);
    else if (!(estimatorNames as readonly string[]).includes(name))
      throw new RangeError(
        `axes.estimator[${i}] must be your own or one of ${estimatorNames.join(', ')}, got ${shown(name)}`,
      );
  const thresholds = checkedAxis(axes, 'thresholdSigma')?.map((thresholdSigma) => ({ thresholdSigma })) ?? [
    {},
  ];
  const windows = checkedAxis(axes, 'windowPx')?.map((windowPx) => ({ windowPx })) ?? [{}];
  return estimators.flatMap((estimator) =>
    (estimator === 'thresholdedCenterOfMass' ? thresholds : [{}]).flatMap((threshold) =>
      windows.map((window) => ({ estimator, ...threshold, ...window })),
    ),
  );
}

type NumberAxis = (typeof sceneAxisNames)[number] | 'thresholdSigma' | 'windowPx';

function checkedAxis(axes: SweepAxes<AnyEstimator>, name: NumberAxis): readonly number[] | undefined {
  const values = axes[name];
  if (values === undefined) return undefined;
  requireList(`axes.${name}`, values);
  if (values.length === 0) throw new RangeError(`axes.${name} must hold at least one value, got none`);
  const seen = new Set<number>();
  values.forEach((value, i) => {
    if (!Number.isFinite(value))
      throw new RangeError(`axes.${name}[${i}] must be a finite number, got ${shown(value)}`);
    if (seen.size === seen.add(value).size)
      throw new RangeError(`axes.${name}[${i}] must differ from the others, got ${value}`);
  });
  return values;
}
