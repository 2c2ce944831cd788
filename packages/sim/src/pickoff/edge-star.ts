/** The star that the rig's pick-off really sees: where it stands, what its beam passes, what its shape is. */

import { type OffAxisAberrations, offAxisAberrations, type Pupil, pupilMoments } from '@holdfast/psf';
import { requireBelow, requireFinite, requireNames, requireNonNegative } from '@holdfast/psf/numerics';
import { pickoffOptionsOf } from '../rig/rig-pickoff.ts';
import type { Rig } from '../rig/rig-schema.ts';
import { designOf } from '../rig/telescope-design.ts';
import { pickoffGeometry } from './pickoff-geometry.ts';
import { pickoffStar } from './pickoff-star.ts';

/** What a setting may change of the rig's star. */
export interface EdgeStarSetting {
  /** Linear central obstruction, in [0, 1). Default: the rig's. */
  readonly obstructionRatio?: number | undefined;
  /** Distance from the axis, mm, >= 0. Default: the rig's. */
  readonly offAxisMm?: number | undefined;
  /** Where the pick-off cuts the beam, radii of the aperture. Default: the rig's. */
  readonly clipDistance?: number | undefined;
}

/** The star at the edge of the field. */
export interface EdgeStar {
  /**
   * Which part of the rig says where the star stands: its own `offAxis`, its `pickoff`, or nothing: on the
   * axis.
   */
  readonly from: 'offAxis' | 'pickoff' | 'axis';
  /** Distance from the axis in the focal plane, mm. */
  readonly offAxisMm: number;
  /** What the star's light passes, in the guide camera's own axes. */
  readonly pupil: Pupil;
  /** Whether any of its light is cut off. */
  readonly isClipped: boolean;
  /** Whether it looks the same on both sides of focus, but for turning. */
  readonly isSymmetric: boolean;
  /** Share of the light of the whole aperture that arrives, 0 to 1. */
  readonly lightShare: number;
  /** Undefined when the telescope's design is not known. */
  readonly aberrations: OffAxisAberrations | undefined;
  /** Its wavefront as it was measured, nm by Noll index: it takes the place of `aberrations`. */
  readonly measuredNm?: Readonly<Record<number, number>>;
}

/**
 * The guide star of a rig. Its distance from the axis and what clips it follow from the rig's pick-off,
 * unless `offAxis` gives them; its aberrations follow from the telescope's design, unless they were measured.
 *
 * @throws RangeError or TypeError naming what is out of range; RangeError for a star off the axis of an
 *         unknown design that a setting asks for
 */
export function edgeStar(rig: Rig, setting: EdgeStarSetting = {}): EdgeStar {
  return starAtEdge(rig, requireNames('setting', setting, 'obstructionRatio offAxisMm clipDistance'));
}

/** As `edgeStar`, of a setting that may say more. */
export function starAtEdge(rig: Rig, setting: EdgeStarSetting): EdgeStar {
  const { offAxis, pickoff, telescope } = rig;
  if (setting.clipDistance !== undefined) requireFinite('clipDistance', setting.clipDistance);
  if (setting.offAxisMm !== undefined) requireNonNegative('offAxisMm', setting.offAxisMm);
  const given = setting.obstructionRatio ?? telescope.obstructionRatio;
  const obstructionRatio = requireBelow('obstructionRatio', given, 0, 1);
  const design = designOf(rig);
  if (setting.offAxisMm !== undefined && setting.offAxisMm > 0 && design === undefined)
    throw new RangeError(`offAxisMm must be 0 for a rig without telescope.design, got ${setting.offAxisMm}`);
  const clip = setting.clipDistance ?? offAxis?.clipDistance;
  const angleDeg = offAxis === undefined ? (pickoff?.guideAngleDeg ?? 0) : (offAxis.clipAngleDeg ?? 0);
  let pupil: Pupil = {
    obstructionRatio,
    ...(clip === undefined || clip >= 1 ? {} : { clip: { distance: clip, angleDeg } }),
  };
  let offAxisMm = setting.offAxisMm ?? offAxis?.offAxisMm ?? 0;
  const mount = offAxis === undefined ? pickoffOptionsOf(rig) : undefined;
  if (mount !== undefined) {
    const options = {
      ...mount,
      obstructionRatio,
      angleDeg,
      ...(setting.offAxisMm === undefined ? {} : { starOffAxisMm: setting.offAxisMm }),
    };
    const star = pickoffStar(options, pickoffGeometry(options), mount.edgeFromAxisMm);
    offAxisMm = star.offAxisMm;
    if (setting.clipDistance === undefined) {
      if (star.pupil === undefined)
        throw new RangeError(
          `pickoff must give its star at least 0.1 % of the light, got ${star.keptFraction} at ${offAxisMm} mm`,
        );
      pupil = star.pupil;
    }
  }
  const isClipped = pupil.clip !== undefined || pupil.footprint !== undefined;
  const { apertureMm, focalLengthMm } = telescope;
  const measuredNm = measuredOf(offAxis);
  const aberrations =
    measuredNm === undefined && design && offAxisMm > 0
      ? offAxisAberrations({ ...design, apertureMm, focalLengthMm, offAxisMm, angleDeg })
      : undefined;
  return {
    from: offAxis !== undefined ? 'offAxis' : pickoff !== undefined ? 'pickoff' : 'axis',
    offAxisMm,
    pupil,
    isClipped,
    isSymmetric: !isClipped && aberrations === undefined && measuredNm === undefined,
    lightShare: isClipped
      ? pupilMoments(pupil).transmitted / pupilMoments({ obstructionRatio }).transmitted
      : 1,
    aberrations,
    ...(measuredNm === undefined ? {} : { measuredNm }),
  };
}

function measuredOf(offAxis: Rig['offAxis']): Readonly<Record<number, number>> | undefined {
  if (offAxis?.aberrationsNm === undefined) return undefined;
  const given = Object.entries(offAxis.aberrationsNm).filter((entry) => entry[1] !== undefined);
  return Object.fromEntries(given) as Record<number, number>;
}
