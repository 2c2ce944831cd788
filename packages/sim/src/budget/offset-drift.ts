/** How far a clipped star walks while one picture is exposed, as the falling temperature moves the focus. */
import { fNumber, pupilMoments } from '@holdfast/psf';
import { arcsecPerRadian } from '@holdfast/psf/numerics';
import { edgeStar } from '../pickoff/edge-star.ts';
import type { Rig } from '../rig/rig-schema.ts';
import { thermalDrift } from '../rig/temperature.ts';

const known = new WeakMap<Rig, { readonly x: number; readonly y: number }>();

/**
 * Change of the star's place during one exposure of the main camera, arcsec: drift of the focus
 * (`temperature`, evenly over its `nightHours`) times -1 / (2 F) of the mean place of the light in the pupil,
 * in radii. By geometric optics, of the center of all light; 0 for a round pupil and without a temperature.
 */
export function offsetDriftArcsec(rig: Rig): { readonly x: number; readonly y: number } {
  const ready = known.get(rig);
  if (ready !== undefined) return ready;
  const { temperature, mainCamera, telescope } = rig;
  const drift = thermalDrift(rig);
  let place = { x: 0, y: 0 };
  if (temperature !== undefined && drift !== undefined) {
    const { isClipped, pupil } = edgeStar(rig);
    const hours = mainCamera.exposureS / 3600;
    const driftUm = (drift.umPerK * temperature.nightDropK * hours) / temperature.nightHours;
    if (isClipped) {
      const light = pupilMoments(pupil);
      const arcsecPerUm = arcsecPerRadian / (1000 * telescope.focalLengthMm);
      const walk = (driftUm * arcsecPerUm) / (2 * fNumber(telescope));
      place = { x: walk * light.x, y: walk * light.y };
    }
  }
  known.set(rig, place);
  return place;
}
