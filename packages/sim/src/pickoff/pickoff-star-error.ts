/** How large the image of a pick-off's guide star is, and how well its position can be known at best. */
import { lightCentroid, type RayShape, raySpots } from '@holdfast/psf';
import type { Rig } from '../rig/rig-schema.ts';
import { leastError } from '../trials/least-error.ts';
import { buildScene, type Scene } from '../trials/scene.ts';
import type { PickoffStar } from './pickoff-star.ts';

export interface PickoffStarError {
  /** Rms distance of the rays from their center of mass, one axis, um: shape alone, without seeing. */
  readonly rmsSpotUm: number;
  /** Electrons of the star in one exposure. */
  readonly fluxE: number;
  /**
   * Least possible error of the position, one axis, arcsec: shape, light, sky and camera together (Cramer-Rao
   * bound).
   */
  readonly leastErrorArcsec: number;
}

/** Pixels around the star's rays, in widths of the blur and in pixels. */
const marginBlurs = 1.5;
const marginPx = 3;

/**
 * Size and least possible error of the rig's guide star seen by a pick-off. The guide camera is taken to be
 * focused on that star; `focusShiftUm` is how far it is out of that focus. By rays, with seeing and the
 * diffraction of the whole aperture as a Gaussian blur. What the rig itself says of its star's place off the
 * axis is left aside.
 *
 * @returns undefined when less than 0.1 % of the light arrives
 */
export function pickoffStarError(
  rig: Rig,
  { pupil, keptFraction, aberrations }: PickoffStar,
  focusShiftUm: number,
): PickoffStarError | undefined {
  if (pupil === undefined) return undefined;
  const scene = buildScene(withoutEdge(rig), { focusShiftUm });
  const pixelSizeUm = scene.pixelSizeUm * scene.binning;
  const shape: RayShape = {
    kind: 'rays',
    pupil,
    wavefront:
      aberrations === undefined
        ? { focusShiftUm }
        : { focusShiftUm: focusShiftUm - aberrations.medianFocusShiftUm, seidelNm: aberrations.seidel },
    fNumber: rig.telescope.focalLengthMm / rig.telescope.apertureMm,
    pixelSizeUm,
    blurFwhmPx: scene.blurFwhmPx,
  };
  const { xUm, yUm, xxUm2, yyUm2 } = lightCentroid(shape);
  const center = { x: xUm / pixelSizeUm, y: yUm / pixelSizeUm };
  const seen = clippedScene(rig, scene, shape, center, keptFraction);
  return {
    rmsSpotUm: Math.sqrt((xxUm2 + yyUm2) / 2),
    fluxE: seen.fluxE,
    leastErrorArcsec: leastError(seen) * seen.arcsecPerPx,
  };
}

function withoutEdge({ pickoff: _, offAxis: __, ...rig }: Rig): Rig {
  return rig;
}

/** The scene with another star in it and a part of the light. */
function clippedScene(
  rig: Rig,
  scene: Scene,
  shape: RayShape,
  center: Scene['lightOffsetPx'],
  kept: number,
): Scene {
  const half = Math.ceil(farthestRay(shape, center) + marginBlurs * shape.blurFwhmPx + marginPx);
  const darkE = rig.guideCamera.darkEPerS * scene.exposureS * scene.binning * scene.binning;
  return {
    ...scene,
    shape,
    lightOffsetPx: center,
    width: 2 * half + 1,
    height: 2 * half + 1,
    column: half,
    row: half,
    fluxE: scene.fluxE * kept,
    // What clips the star clips sky light alike, but not the dark current.
    backgroundE: darkE + (scene.backgroundE - darkE) * kept,
  };
}

/** From a point to the ray that lands farthest from it, px. */
function farthestRay(shape: RayShape, center: { readonly x: number; readonly y: number }): number {
  const { x, y } = raySpots(shape);
  let farthest = 0;
  for (let k = 0; k < x.length; k++)
    farthest = Math.max(farthest, (x[k] - center.x) ** 2 + (y[k] - center.y) ** 2);
  return Math.sqrt(farthest);
}
