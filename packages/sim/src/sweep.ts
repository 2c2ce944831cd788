/** The error of a star's position over a grid of focus shift, obstruction ratio and brightness. */

import type { PositionError } from './error-tally.ts';
import { type LongWorkOptions, pause } from './long-work.ts';
import { compareEstimators, type TrialOptions } from './measure-error.ts';
import { type EstimatorName, estimatorNames, type Rig } from './rig-schema.ts';
import { buildScene, type Scene, type SceneSetting } from './scene.ts';

/** Values to combine, each with each. An axis left out stays as the rig says. */
export interface SweepAxes {
  readonly focusShiftUm: readonly number[];
  readonly obstructionRatio?: readonly number[];
  /** SNR of the star's image as it falls on the sensor; not together with `magnitude`. */
  readonly snr?: readonly number[];
  readonly magnitude?: readonly number[];
}

export interface SweepOptions extends TrialOptions, LongWorkOptions {
  readonly axes: SweepAxes;
  /** Default: all. Every estimator measures the same frames. */
  readonly estimators?: readonly EstimatorName[];
}

/** One estimator in one cell of the grid. */
export interface SweepRow extends PositionError {
  readonly seed: string | number;
  readonly focusShiftUm: number;
  readonly obstructionRatio: number;
  readonly outerDiameterUm: number;
  readonly outerDiameterPx: number;
  readonly blurFwhmPx: number;
  readonly arcsecPerPx: number;
  readonly fluxE: number;
  readonly backgroundE: number;
  readonly snr: number;
}

const axisNames = ['focusShiftUm', 'obstructionRatio', 'snr', 'magnitude'] as const;

/**
 * Run all cells of a grid, last axis fastest; rows come as soon as their cell is done.
 *
 * ```ts
 * for await (const row of sweep(rig, { axes: { focusShiftUm: [0, 100, 200], snr: [10, 50] }, seed: 1 }))
 *   console.log(row.focusShiftUm, row.estimator, row.rmsPx)
 * ```
 * The random numbers of a cell depend on the seed and the cell's values alone: a cell gives the same row in any grid.
 *
 * @throws RangeError when an axis is empty or holds a value that is not finite, or snr and magnitude are both given
 */
export async function* sweep(
  rig: Rig,
  { axes, estimators = estimatorNames, seed, onProgress, signal, ...trialOptions }: SweepOptions,
): AsyncGenerator<SweepRow, void, undefined> {
  const settings = settingsOf(axes);
  for (const [index, setting] of settings.entries()) {
    await pause(signal);
    const scene = buildScene(rig, setting);
    const cellSeed = [seed, ...axisNames.map((name) => setting[name] ?? '-')].join('|');
    for (const error of compareEstimators(scene, { ...trialOptions, estimators, seed: cellSeed }))
      yield { seed, ...describeScene(scene), ...error };
    onProgress?.({ task: 'sweep', done: index + 1, total: settings.length });
  }
}

/** The numbers of a scene that belong beside its result. */
export function describeScene(scene: Scene) {
  return {
    focusShiftUm: scene.setting.focusShiftUm,
    obstructionRatio: scene.shape.obstructionRatio,
    outerDiameterUm: scene.outerDiameterUm,
    outerDiameterPx: scene.outerDiameterPx,
    blurFwhmPx: scene.shape.blurFwhmPx,
    arcsecPerPx: scene.arcsecPerPx,
    fluxE: scene.fluxE,
    backgroundE: scene.backgroundE,
    snr: scene.snr,
  };
}

function settingsOf(axes: SweepAxes): SceneSetting[] {
  if (axes.snr !== undefined && axes.magnitude !== undefined)
    throw new RangeError('axes must hold snr or magnitude, got both');
  let settings: Partial<SceneSetting>[] = [{}];
  for (const name of axisNames) {
    const values = axes[name];
    if (values === undefined) continue;
    if (values.length === 0) throw new RangeError(`axes.${name} must hold at least one value, got none`);
    values.forEach((value, i) => {
      if (!Number.isFinite(value))
        throw new RangeError(`axes.${name}[${i}] must be a finite number, got ${value}`);
    });
    settings = settings.flatMap((setting) => values.map((value) => ({ ...setting, [name]: value })));
  }
  return settings.map((setting) => ({ focusShiftUm: 0, ...setting }));
}
