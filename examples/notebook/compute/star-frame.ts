/** One frame of the rig's star with a ring of a given size. */
import { buildScene, type Rig, simulateFrames } from '@holdfast/sim';
import { umPerRingPx } from './derived.ts';

/** Electrons above the background in one frame of the star. */
export interface StarFrame {
  readonly width: number;
  readonly height: number;
  readonly pixels: Float64Array;
  /** Where the star truly is. */
  readonly x: number;
  readonly y: number;
}

/** @param sidePx  the frame is at least so wide and high */
export function starFrame(rig: Rig, ringPx: number, sidePx: number, seed: string): StarFrame {
  // One pixel more on each side, as the star does not stand in the middle of one.
  const windowPx = 2 * Math.ceil(sidePx / 2) + 3;
  const scene = buildScene(rig, { focusShiftUm: ringPx * umPerRingPx(rig), windowPx });
  const { pixels, background, x, y } = simulateFrames(scene, `${seed}|picture`).frame(0);
  const { width, height } = scene;
  return { width, height, pixels: Float64Array.from(pixels, (value) => value - background), x, y };
}

/** The V magnitude of a star of this SNR at a ring, or of so many electrons per exposure; to 0.01 mag. */
export function magnitudeOf(rig: Rig, ringPx: number, star: { snr: number } | { fluxE: number }): number {
  const focusShiftUm = ringPx * umPerRingPx(rig);
  const { fluxE } = buildScene(rig, { focusShiftUm, ...star });
  const reference = buildScene(rig, { focusShiftUm, magnitude: 10 }).fluxE;
  return Number((10 - 2.5 * Math.log10(fluxE / reference)).toFixed(2));
}

/**
 * Sky brightness that gives so many electrons per pixel and exposure, mag per square arcsec; undefined
 * outside 10 to 23.
 */
export function skyMagnitudeOf(rig: Rig, backgroundE: number): number | undefined {
  const backgroundAt = (skyMagPerArcsec2: number) =>
    buildScene({ ...rig, sky: { ...rig.sky, skyMagPerArcsec2 } }, { focusShiftUm: 0 }).backgroundE;
  // Sky and dark current add: the light of a sky 5 mag brighter is a hundred times as much.
  const [bright, dim] = [backgroundAt(15), backgroundAt(20)];
  const skyAt20 = (bright - dim) / 99;
  const magnitude = 20 - 2.5 * Math.log10((backgroundE - (dim - skyAt20)) / skyAt20);
  return magnitude >= 10 && magnitude <= 23 ? Number(magnitude.toFixed(2)) : undefined;
}
