/** Guide frames of a scene, each from random numbers of its own. */

import { prepareExposure, type RandomStream } from '@holdfast/psf';
import { numberedStreams, type PreparedLight, prepareOneDraw } from '@holdfast/psf/internal';
import { requireInteger } from '@holdfast/psf/numerics';
import { borderBackground } from './border-background.ts';
import { useCompiledSums } from './image-sums.ts';
import { prepareKeptScene } from './kept-star.ts';
import type { Scene } from './scene.ts';

/** Places in the pixel at which the star stands in turn. */
export const places = 16;

/** Trials are run by so many at a time: whole rounds of the places. */
export const roundSize = 4 * places;

/** Cells a side into which the pixel is cut to tell bias by place. */
export const phases = 8;

/**
 * Where in its pixel a trial's star stands, px from the left and the upper edge: a lattice whose 16 columns
 * and 16 rows are even. What repeats with the pixel is averaged by it exactly, but for waves as short as (1,
 * 3) of them to the pixel along (x, y), which pixels hardly pass.
 */
export function placeOf(trial: number): { x: number; y: number } {
  const i = trial % places;
  return { x: (i + 0.5) / places, y: (((5 * i) % places) + 0.5) / places };
}

/** The cell of the pixel in which a trial's star lies, counted from 0 along each axis. */
export function phaseOf(trial: number): { phaseX: number; phaseY: number } {
  const { x, y } = placeOf(trial);
  return { phaseX: Math.floor(x * phases), phaseY: Math.floor(y * phases) };
}

/** One noisy frame of a scene, and the truth about it. */
export interface SimulatedFrame {
  /** Electrons, sky and dark included, row by row. Overwritten by the next frame. */
  readonly pixels: Float64Array;
  /** Background as measured on the frame's own border, electrons per pixel. */
  readonly background: number;
  /** True position of the star, px. */
  readonly x: number;
  /** The same along y, px. */
  readonly y: number;
}

/** Stamps up to this many pixels keep the light of each place, made ready: 16 MB at most. */
const mostKeptPixels = 2 ** 16;

/**
 * Frames of a scene by trial number, the star at one place of its pixel after the other. A trial draws from a
 * stream of its own, so a frame depends on the seed and its number alone.
 */
export function simulateFrames(
  scene: Scene,
  seed: string | number,
): {
  /** Expected 1 sigma error of `background`, electrons. */
  readonly backgroundSigma: number;
  frame(trial: number): SimulatedFrame;
} {
  useCompiledSums();
  const pixels = new Float64Array(scene.width * scene.height);
  const border = borderBackground(scene);
  const expose = prepareLightAt(scene, pixels);
  const streamOf = numberedStreams(seed, 'trial');
  return {
    backgroundSigma: border.levelSigma,
    frame(trial) {
      const place = placeOf(requireInteger('trial', trial, 0, 2 ** 32));
      const x = scene.column - 0.5 + place.x;
      const y = scene.row - 0.5 + place.y;
      expose(trial % places, x, y, streamOf(trial));
      return { pixels, background: border.levelOf(pixels), x, y };
    },
  };
}

/** A frame of the star at one place onto `pixels`; the same number means the same place. */
type ExposeAt = (place: number, x: number, y: number, random: RandomStream) => void;

function prepareLightAt(scene: Scene, pixels: Float64Array): ExposeAt {
  const draw = prepareKeptScene(scene);
  const expected = new Float64Array(pixels.length);
  const render = (x: number, y: number): void => {
    draw(expected, x, y, scene.fluxE);
    for (let k = 0; k < expected.length; k++) expected[k] += scene.backgroundE;
  };
  const oneDraw = prepareOneDraw(scene.camera, scene);
  if (oneDraw === undefined) {
    const exposure = prepareExposure(scene.camera, { width: scene.width, height: scene.height });
    return (_, x, y, random) => {
      render(x, y);
      exposure.exposeInto(pixels, expected, random);
    };
  }
  const kept: PreparedLight[] = [];
  return (place, x, y, random) => {
    let light = kept[place];
    if (light === undefined) {
      render(x, y);
      light = oneDraw.prepareLight(expected);
      if (pixels.length <= mostKeptPixels) kept[place] = light;
    }
    oneDraw.exposeInto(pixels, light, random);
  };
}
