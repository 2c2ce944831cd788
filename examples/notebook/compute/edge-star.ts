/**
 * A star at the edge of the field on both sides of focus: its shape, and where the center of its light goes.
 */
import {
  airyFwhmUm,
  lightCentroid,
  type OffAxisAberrations,
  offAxisAberrations,
  type Pupil,
  plateScaleArcsecPerPx,
  raySpots,
  type Wavefront,
} from '@holdfast/psf';
import { designOf, type Rig } from '@holdfast/sim';
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
  /** Center of mass of the light from there, px. */
  readonly walkX: number;
  readonly walkY: number;
}

/**
 * The rig with its star at the edge of the field. Two mirrors: the first a third as slow as the telescope,
 * focus 200 mm behind it.
 */
export function rigAtEdge(rig: Rig, { design, offAxisMm, clipDistance }: EdgeSetting): Rig {
  const chosen =
    design === 'rig' && rig.telescope.design
      ? rig.telescope.design
      : design === 'classical-cassegrain' || design === 'ritchey-chretien'
        ? { kind: design, primaryFNumber: fNumberOf(rig) / 3, backFocusMm: 200 }
        : ({ kind: 'paraboloid' } as const);
  return { ...rig, telescope: { ...rig.telescope, design: chosen }, offAxis: { offAxisMm, clipDistance } };
}

/**
 * What sends the light of a rig's star where it goes: the guide camera is focused for its own place in the
 * field.
 */
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
  const half = Math.ceil((ringUm / 2 + spreadUm) / pixelSizeUm + 2 * blurFwhmPx) + 2;
  const side = 2 * half + 1;
  const pixels = drawnRays(beam, pixelSizeUm, blurFwhmPx, side);
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

/** Rays as for twice the blur are enough for the eye: a quarter of those that a measurement needs. */
const coarser = 2;
/** A drawn ray ends at so many of its rms widths. */
const reachSigmas = 3.2;

/**
 * A picture of the rays, each a Gaussian as wide as the blur and the pixel: to be looked at, not to be
 * measured.
 */
function drawnRays(
  beam: ReturnType<typeof beamOf>,
  pixelSizeUm: number,
  blurFwhmPx: number,
  side: number,
): Float64Array {
  const { x, y, weights } = raySpots({ ...beam, pixelSizeUm, blurFwhmPx: coarser * blurFwhmPx });
  const pixels = new Float64Array(side * side);
  const half = (side - 1) / 2;
  const variance = blurFwhmPx ** 2 / (8 * Math.log(2)) + 1 / 12;
  const reach = Math.ceil(reachSigmas * Math.sqrt(variance));
  const across = new Float64Array(2 * reach + 1);
  for (let ray = 0; ray < weights.length; ray++) {
    const column = Math.round(half + x[ray]);
    const row = Math.round(half + y[ray]);
    if (column < reach || row < reach || column + reach >= side || row + reach >= side) continue;
    const scale = weights[ray] / (2 * Math.PI * variance);
    for (let i = -reach; i <= reach; i++)
      across[i + reach] = scale * Math.exp(-((column + i - half - x[ray]) ** 2) / (2 * variance));
    for (let j = -reach; j <= reach; j++) {
      const down = Math.exp(-((row + j - half - y[ray]) ** 2) / (2 * variance));
      const start = (row + j) * side + column - reach;
      for (let i = 0; i < across.length; i++) pixels[start + i] += down * across[i];
    }
  }
  return pixels;
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

/**
 * Where the center of the light lies at each focus shift, px from a perfect star, along the direction away
 * from the axis.
 */
export function walkThroughFocus(rig: Rig, shiftsUm: readonly number[]): { x: number; y: number }[] {
  return shiftsUm.map((focusShiftUm) => ({
    x: focusShiftUm,
    y: lightCentroid(beamOf(rig, focusShiftUm)).xUm / pixelUmOf(rig),
  }));
}

export function aberrationsOf(rig: Rig): OffAxisAberrations | undefined {
  const design = designOf(rig);
  if (design === undefined || rig.offAxis === undefined) return undefined;
  const { apertureMm, focalLengthMm } = rig.telescope;
  return offAxisAberrations({ ...design, apertureMm, focalLengthMm, offAxisMm: rig.offAxis.offAxisMm });
}
