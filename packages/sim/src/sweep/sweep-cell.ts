/** One cell of a sweep: plain data in, plain rows out, so that any worker on any machine may run it. */

import { type CancelSignal, resultOf, resultUntil } from '../long-work.ts';
import type { EstimatorName, Rig } from '../rig/rig-schema.ts';
import type { EstimatorSetting } from '../trials/estimators.ts';
import { compareInSteps, type TrialOptions } from '../trials/measure-error.ts';
import type { AnyEstimator, NameOf } from '../trials/own-estimator.ts';
import { nameOfStar } from '../trials/own-star.ts';
import type { PositionError } from '../trials/position-error.ts';
import { buildScene, type Scene, type SceneSetting } from '../trials/scene.ts';
import { version } from '../version.ts';
import { byName } from './own-by-name.ts';

/** All that a cell's result depends on. */
export interface SweepCell<Estimator extends AnyEstimator = EstimatorName> extends TrialOptions {
  /** Number of the cell in the whole sweep, from 0. */
  readonly cell: number;
  /** Fingerprint of the sweep that it belongs to. */
  readonly plan: string;
  /** The rig. */
  readonly rig: Rig;
  /** What the sweep varies. */
  readonly setting: SceneSetting;
  /** The estimators to try. */
  readonly estimators: readonly EstimatorSetting<Estimator>[];
}

/** One estimator in one cell, with what the scene was like. */
export interface SweepRow<Name extends string = EstimatorName> extends SceneDescription, PositionError<Name> {
  /** Number of the cell, from 0. */
  readonly cell: number;
  /** Fingerprint of the sweep: library version, rig and plan. */
  readonly plan: string;
  /** Version of the library. */
  readonly version: string;
  /** Name of the rig. */
  readonly rig: string;
  /** Seed of the sweep, as text. */
  readonly seed: string;
}

/** The numbers of a scene that belong beside its result; lengths in (binned) px where the name says so. */
export interface SceneDescription {
  /** Focus shift at the guide sensor, um. */
  readonly focusShiftUm: number;
  /** Linear central obstruction. */
  readonly obstructionRatio: number;
  /** Distance of the star from the axis, mm. */
  readonly offAxisMm: number;
  /** Where the pick-off cuts the beam, radii of the aperture; 1 = nothing is cut. */
  readonly clipDistance: number;
  /** Absent without a neighbor. */
  readonly neighborDistancePx?: number;
  /** Name of your own star; absent for the star of the rig's optics. */
  readonly ownStar?: string;
  /** Exposure time, s. */
  readonly exposureS: number;
  /** Pixels per side that are summed. */
  readonly binning: number;
  /** Side of a pixel, um, binned. */
  readonly pixelSizeUm: number;
  /** FWHM by the air alone, arcsec. */
  readonly seeingFwhmArcsec: number;
  /** Plate scale, arcsec per px. */
  readonly arcsecPerPx: number;
  /** Outer diameter of the ring, um. */
  readonly outerDiameterUm: number;
  /** Outer diameter of the ring, px. */
  readonly outerDiameterPx: number;
  /** FWHM of the blur on top of the ring, px. */
  readonly blurFwhmPx: number;
  /** Defocus at the edge of the pupil, waves. */
  readonly edgeWaves: number;
  /** Light of the star per frame, electrons. */
  readonly fluxE: number;
  /** Background per pixel and frame, electrons. */
  readonly backgroundE: number;
  /** Noise of a pixel without light, electrons rms. */
  readonly pixelNoiseE: number;
  /** Signal-to-noise ratio of the star's image. */
  readonly snr: number;
}

export function describeScene(scene: Scene): SceneDescription {
  return {
    focusShiftUm: scene.setting.focusShiftUm,
    obstructionRatio: scene.obstructionRatio,
    offAxisMm: scene.star.offAxisMm,
    clipDistance: scene.star.pupil.clip?.distance ?? 1,
    ...(scene.setting.neighborDistancePx === undefined
      ? {}
      : { neighborDistancePx: scene.setting.neighborDistancePx }),
    ...(scene.setting.ownStar === undefined ? {} : { ownStar: nameOfStar(scene.setting.ownStar) }),
    exposureS: scene.exposureS,
    binning: scene.binning,
    pixelSizeUm: scene.pixelSizeUm,
    seeingFwhmArcsec: scene.seeingFwhmArcsec,
    arcsecPerPx: scene.arcsecPerPx,
    outerDiameterUm: scene.outerDiameterUm,
    outerDiameterPx: scene.outerDiameterPx,
    blurFwhmPx: scene.blurFwhmPx,
    edgeWaves: scene.edgeWaves,
    fluxE: scene.fluxE,
    backgroundE: scene.backgroundE,
    pixelNoiseE: scene.pixelNoiseE,
    snr: scene.snr,
  };
}

/**
 * Run one cell. Its random numbers come from the seed and its setting alone, so it gives the same rows in any
 * grid, on any worker, in any order.
 */
export function runCell<Estimator extends AnyEstimator>(
  cell: SweepCell<Estimator>,
): SweepRow<NameOf<Estimator>>[] {
  return resultOf(cellInSteps(cell));
}

/**
 * {@link runCell}, which yields to the event loop in between.
 *
 * @throws the signal's reason when canceled
 */
export function runCellUntil<Estimator extends AnyEstimator>(
  cell: SweepCell<Estimator>,
  signal: CancelSignal,
): Promise<SweepRow<NameOf<Estimator>>[]> {
  return resultUntil(cellInSteps(cell), signal);
}

function* cellInSteps<Estimator extends AnyEstimator>({
  cell,
  plan,
  rig,
  setting,
  estimators,
  seed,
  ...trials
}: SweepCell<Estimator>): Generator<void, SweepRow<NameOf<Estimator>>[]> {
  // The stamp must hold the widest window that is asked for.
  const widest = Math.max(0, ...estimators.map(({ windowPx = 0 }) => windowPx));
  const scene = buildScene(rig, widest > 0 ? { ...setting, windowPx: widest } : setting);
  const cellSeed = `${seed}|${JSON.stringify(Object.entries(setting).sort(), byName)}`;
  const description = describeScene(scene);
  const errors = yield* compareInSteps(scene, { ...trials, estimators, seed: cellSeed });
  return errors.map((error) => ({
    cell,
    plan,
    version,
    rig: rig.name,
    seed: String(seed),
    ...description,
    ...error,
  }));
}
