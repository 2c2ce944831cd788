/** A star at the edge of the field on both sides of focus: its shape, and where the centre of its light goes. */
import { type OffAxisAberrations, offAxisAberrations } from '@holdfast/psf';
import { buildScene, designOfRig, prepareScene, type Rig } from '@holdfast/sim';
import { fNumberOf } from './derived.ts';

export type DesignName = 'paraboloid' | 'classical-cassegrain' | 'ritchey-chretien' | 'rig';

export interface EdgeSetting {
  readonly design: DesignName;
  readonly offAxisMm: number;
  readonly clipDistance: number;
}

export interface EdgePicture {
  readonly focusShiftUm: number;
  readonly width: number;
  readonly height: number;
  /** Expected electrons, without background. */
  readonly pixels: Float64Array;
  /** Where a perfect star would stand, px of the picture. */
  readonly perfectX: number;
  readonly perfectY: number;
  /** Centre of mass of the light from there, px. */
  readonly walkX: number;
  readonly walkY: number;
}

/** The rig with its star at the edge of the field. Two mirrors: the first a third as slow as the telescope, focus 200 mm behind it. */
export function rigAtEdge(rig: Rig, { design, offAxisMm, clipDistance }: EdgeSetting): Rig {
  const telescope =
    design === 'rig' && rig.offAxis
      ? rig.offAxis.telescope
      : design === 'classical-cassegrain' || design === 'ritchey-chretien'
        ? { design, primaryFNumber: fNumberOf(rig) / 3, backFocusMm: 200 }
        : ({ design: 'paraboloid' } as const);
  return { ...rig, offAxis: { offAxisMm, clipDistance, telescope } };
}

export function edgePicture(rig: Rig, focusShiftUm: number): EdgePicture {
  const scene = buildScene(rig, { focusShiftUm });
  const pixels = new Float64Array(scene.width * scene.height);
  prepareScene(scene).renderInto(pixels, scene.column, scene.row, scene.fluxE);
  const { x, y } = scene.lightOffsetPx;
  return {
    focusShiftUm,
    width: scene.width,
    height: scene.height,
    pixels,
    perfectX: scene.column - x,
    perfectY: scene.row - y,
    walkX: x,
    walkY: y,
  };
}

/** Where the centre of the light lies at each focus shift, px from a perfect star, along the direction away from the axis. */
export function walkThroughFocus(rig: Rig, shiftsUm: readonly number[]): { x: number; y: number }[] {
  return shiftsUm.map((focusShiftUm) => ({
    x: focusShiftUm,
    y: buildScene(rig, { focusShiftUm }).lightOffsetPx.x,
  }));
}

export function aberrationsOf(rig: Rig): OffAxisAberrations | undefined {
  const design = designOfRig(rig);
  if (design === undefined || rig.offAxis === undefined) return undefined;
  const { apertureMm, focalLengthMm } = rig.telescope;
  return offAxisAberrations({ ...design, apertureMm, focalLengthMm, offAxisMm: rig.offAxis.offAxisMm });
}
