/**
 * A plain rig for tests: bright enough to be measured, small enough to be fast, its star a ring with a
 * Gaussian blur.
 */
import {
  buildScene,
  type PositionError,
  parseRig,
  type Rig,
  type Scene,
  type SceneSetting,
} from '@holdfast/sim';
import { type BudgetShare, budgetShare, measuredOf } from '@holdfast/sim/internal';

/** As it stands in a rig file. */
export const smallRigFile = {
  name: 'Test rig',
  telescope: { apertureMm: 150, focalLengthMm: 750, obstructionRatio: 0.3 },
  guideCamera: { pixelSizeUm: 4, exposureS: 2, readNoiseE: 2 },
  mainCamera: { pixelSizeUm: 4 },
  sky: { seeingFwhmArcsec: 2.5 },
  guideStar: { magnitude: 11 },
  filters: [{ name: 'Luminance', focusShiftUm: 0 }],
  starModel: 'geometric',
};

export const smallRig = (changes: Record<string, unknown> = {}): Rig =>
  parseRig({ ...smallRigFile, ...changes });

/** A scene whose window just holds its star, as if it had been set for it. */
export function fittedScene(rig: Rig, setting: SceneSetting): Scene {
  const { windowToHoldPx } = buildScene(rig, setting);
  return buildScene(rig, { ...setting, windowPx: windowToHoldPx });
}

/** Trials against the budget. */
export function shareOfTrials(rig: Rig, scene: Scene, error: PositionError): BudgetShare {
  return budgetShare(rig, measuredOf(error, scene.arcsecPerPx), { exposureS: scene.exposureS });
}
