/** A star at the edge of the field on both sides of focus: its shape, and where the centre of its light goes. */
import {
  airyFwhmUm,
  lightCentroid,
  type OffAxisAberrations,
  offAxisAberrations,
  type Pupil,
  plateScaleArcsecPerPx,
  prepareStar,
  type Wavefront,
} from '@holdfast/psf';
import { designOfRig, type Rig } from '@holdfast/sim';
import { fNumberOf, pixelUmOf } from './derived.ts';

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
  /** Share of the light in each pixel. */
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

/** What sends the light of a rig's star where it goes: the guide camera is focused for its own place in the field. */
function beamOf(rig: Rig, focusShiftUm: number): { pupil: Pupil; wavefront: Wavefront; fNumber: number } {
  const { clipDistance = 1 } = rig.offAxis ?? {};
  const found = aberrationsOf(rig);
  const { coma = 0, astigmatism = 0, angleDeg = 0 } = found?.seidel ?? {};
  return {
    pupil: {
      obstructionRatio: rig.telescope.obstructionRatio,
      ...(clipDistance < 1 ? { clip: { distance: clipDistance } } : {}),
    },
    wavefront: {
      focusShiftUm,
      seidelNm: { coma, astigmatism, fieldCurvature: -astigmatism / 2, angleDeg },
    },
    fNumber: fNumberOf(rig),
  };
}

/** Air and diffraction, px. */
function blurOf(rig: Rig): number {
  const { focalLengthMm } = rig.telescope;
  const pixelSizeUm = pixelUmOf(rig);
  const air = rig.sky.seeingFwhmArcsec / plateScaleArcsecPerPx({ pixelSizeUm, focalLengthMm });
  const { wavelengthNm } = rig.guideCamera;
  const airy = airyFwhmUm({ fNumber: fNumberOf(rig), wavelengthNm }) / pixelSizeUm;
  return Math.sqrt(air ** 2 + airy ** 2);
}

export function edgePicture(rig: Rig, focusShiftUm: number): EdgePicture {
  const beam = beamOf(rig, focusShiftUm);
  const pixelSizeUm = pixelUmOf(rig);
  const blurFwhmPx = blurOf(rig);
  const found = aberrationsOf(rig);
  const spreadUm = found ? Math.abs(found.tangentialComaUm) + found.astigmatismUm : 0;
  const ringUm = Math.abs(focusShiftUm) / beam.fNumber;
  const half = Math.ceil((ringUm / 2 + spreadUm) / pixelSizeUm + 1.5 * blurFwhmPx) + 1;
  const side = 2 * half + 1;
  const pixels = new Float64Array(side * side);
  prepareStar({ kind: 'rays', ...beam, pixelSizeUm, blurFwhmPx }, { width: side, height: side }).renderInto(
    pixels,
    half,
    half,
    1,
  );
  const { xUm, yUm } = lightCentroid(beam);
  const cut = cutToLight(pixels, side);
  return {
    focusShiftUm,
    width: cut.width,
    height: cut.height,
    pixels: cut.pixels,
    perfectX: half - cut.left,
    perfectY: half - cut.top,
    walkX: xUm / pixelSizeUm,
    walkY: yUm / pixelSizeUm,
  };
}

/** Less than this of the brightest pixel cannot be seen. */
const faintest = 0.004;

/** The part of a square picture in which there is light to be seen. */
function cutToLight(
  pixels: Float64Array,
  side: number,
): { width: number; height: number; left: number; top: number; pixels: Float64Array } {
  let brightest = 0;
  for (const value of pixels) brightest = Math.max(brightest, value);
  let [left, right, top, bottom] = [side, 0, side, 0];
  for (let k = 0; k < pixels.length; k++) {
    if (pixels[k] < faintest * brightest) continue;
    const row = Math.floor(k / side);
    const column = k - row * side;
    left = Math.min(left, column);
    right = Math.max(right, column);
    top = Math.min(top, row);
    bottom = Math.max(bottom, row);
  }
  const width = right - left + 1;
  const height = bottom - top + 1;
  const cut = new Float64Array(width * height);
  for (let row = 0; row < height; row++)
    cut.set(pixels.subarray((top + row) * side + left, (top + row) * side + left + width), row * width);
  return { width, height, left, top, pixels: cut };
}

/** Where the centre of the light lies at each focus shift, px from a perfect star, along the direction away from the axis. */
export function walkThroughFocus(rig: Rig, shiftsUm: readonly number[]): { x: number; y: number }[] {
  return shiftsUm.map((focusShiftUm) => ({
    x: focusShiftUm,
    y: lightCentroid(beamOf(rig, focusShiftUm)).xUm / pixelUmOf(rig),
  }));
}

export function aberrationsOf(rig: Rig): OffAxisAberrations | undefined {
  const design = designOfRig(rig);
  if (design === undefined || rig.offAxis === undefined) return undefined;
  const { apertureMm, focalLengthMm } = rig.telescope;
  return offAxisAberrations({ ...design, apertureMm, focalLengthMm, offAxisMm: rig.offAxis.offAxisMm });
}
