/** How far a star walks while one picture is exposed, as the falling temperature moves the focus. */
import { pupilMoments } from '@holdfast/psf';
import { arcsecPerRadian } from '@holdfast/psf/numerics';
import { edgeStar, starAtEdge } from '../pickoff/edge-star.ts';
import type { Rig } from '../rig/rig-schema.ts';
import { thermalDrift } from '../rig/temperature.ts';
import { expectedOffsetPx } from '../trials/analytic-error.ts';
import type { EstimatorSetting } from '../trials/estimators.ts';
import type { AnyEstimator } from '../trials/own-estimator.ts';
import { buildScene, type SceneSetting } from '../trials/scene.ts';

/** Along the axes of the guide camera, arcsec. */
export interface OffsetDrift {
  readonly x: number;
  readonly y: number;
}

const known = new WeakMap<Rig, OffsetDrift>();

/**
 * Change of the star's place during one exposure of the main camera, arcsec: drift of the focus
 * (`temperature`, evenly over its `nightHours`) times -1 / (2 F) of the mean place of the light in the pupil,
 * in radii. By geometric optics, of the center of all light; 0 for a round pupil and without a temperature.
 */
export function offsetDriftArcsec(rig: Rig): OffsetDrift {
  const ready = known.get(rig);
  if (ready !== undefined) return ready;
  let place = { x: 0, y: 0 };
  const edgeArcsec = edgeWalkArcsec(rig);
  if (edgeArcsec !== 0) {
    const { isClipped, pupil } = edgeStar(rig);
    if (isClipped) {
      const light = pupilMoments(pupil);
      place = { x: -edgeArcsec * light.x, y: -edgeArcsec * light.y };
    }
  }
  known.set(rig, place);
  return place;
}

/** Of what the budget allows: less than this by the ray that walks most, and no method is asked. */
const negligibleShare = 0.02;

/**
 * The same of the place that a method measures, from noiseless light at both ends of the exposure. Where it
 * cannot matter, or where the method has no expected place, that of all light.
 */
export function methodDriftArcsec(
  rig: Rig,
  setting: SceneSetting,
  estimator: EstimatorSetting<AnyEstimator>,
): OffsetDrift {
  // Growth by an even walk d: (k d)^2 / 12 over twice the square of the FWHM, k^2 = 8 ln 2.
  const most = (100 * 8 * Math.LN2 * edgeWalkArcsec(rig) ** 2) / 24 / rig.sky.seeingFwhmArcsec ** 2;
  if (most < negligibleShare * rig.budget.fwhmGrowthPercent || starAtEdge(rig, setting).isSymmetric)
    return offsetDriftArcsec(rig);
  const placeAt = (focusShiftUm: number) =>
    expectedOffsetPx(buildScene(rig, { ...setting, focusShiftUm }), estimator);
  const begin = placeAt(setting.focusShiftUm);
  const end = placeAt(setting.focusShiftUm + pictureDriftUm(rig));
  if (begin === undefined || end === undefined) return offsetDriftArcsec(rig);
  const { arcsecPerPx } = buildScene(rig, setting);
  return { x: (end.x - begin.x) * arcsecPerPx, y: (end.y - begin.y) * arcsecPerPx };
}

/** Drift of the focus during one exposure of the main camera, um. */
function pictureDriftUm(rig: Rig): number {
  const { temperature, mainCamera } = rig;
  const drift = thermalDrift(rig);
  if (temperature === undefined || drift === undefined) return 0;
  const hours = mainCamera.exposureS / 3600;
  return (drift.umPerK * temperature.nightDropK * hours) / temperature.nightHours;
}

/** How far the ray from the edge of the pupil walks, arcsec. */
function edgeWalkArcsec(rig: Rig): number {
  const arcsecPerUm = arcsecPerRadian / (1000 * rig.telescope.focalLengthMm);
  const fNumber = rig.telescope.focalLengthMm / rig.telescope.apertureMm;
  return (pictureDriftUm(rig) * arcsecPerUm) / (2 * fNumber);
}
