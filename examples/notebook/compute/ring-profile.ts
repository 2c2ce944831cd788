/** What the guide camera is expected to see along a line through the star, on both sides of focus. */
import { lightCentroid } from '@holdfast/psf';
import { buildScene, prepareScene, type Rig } from '@holdfast/sim';

export interface RingProfile {
  readonly focusShiftUm: number;
  readonly outerDiameterPx: number;
  /** Expected electrons along the row of the star; x in px from where a perfect star would stand. */
  readonly points: readonly { readonly x: number; readonly y: number }[];
  /** Center of mass of the whole expected light from there, px. */
  readonly centerOfMassPx: number;
}

export interface ProfileSetting {
  readonly obstructionRatio: number;
  /** Where a straight edge cuts the beam, radii of the aperture from its center; 1 = nothing is cut. */
  readonly clipDistance: number;
}

export function ringProfile(rig: Rig, focusShiftUm: number, setting: ProfileSetting): RingProfile {
  const scene = buildScene(rig, { focusShiftUm, ...setting });
  const { width, height, column, row, lightOffsetPx, fluxE } = scene;
  const frame = new Float64Array(width * height);
  prepareScene(scene).renderInto(frame, column, row, fluxE);
  let light = 0;
  let moment = 0;
  for (let k = 0; k < frame.length; k++) {
    light += frame[k];
    moment += frame[k] * (k % width);
  }
  const perfect = column - lightOffsetPx.x;
  return {
    focusShiftUm,
    outerDiameterPx: scene.outerDiameterPx,
    points: Array.from({ length: width }, (_, x) => ({ x: x - perfect, y: frame[row * width + x] })),
    centerOfMassPx: moment / light - perfect,
  };
}

/**
 * Mean slope of the wavefront over the light of the pupil, as the shift of the center of mass that it makes,
 * um.
 */
export function meanSlopeUm(rig: Rig, focusShiftUm: number, setting: ProfileSetting): number {
  const { apertureMm, focalLengthMm } = rig.telescope;
  const { obstructionRatio, clipDistance } = setting;
  return lightCentroid({
    pupil: { obstructionRatio, ...(clipDistance < 1 ? { clip: { distance: clipDistance } } : {}) },
    wavefront: { focusShiftUm },
    fNumber: focalLengthMm / apertureMm,
  }).xUm;
}
