/** Guide frames of a scene, each from random numbers of its own. */
import {
  type PreparedLight,
  prepareExposure,
  prepareOneDraw,
  type RandomStream,
  randomStream,
} from '@holdfast/psf';
import { borderBackground } from './border-background.ts';
import { prepareScene, type Scene } from './scene.ts';

/** Cells a side into which the pixel is cut; each stratum of trials puts one star into every cell. */
export const phases = 8;

/** Trials that together cover the pixel once. */
export const stratum = phases * phases;

/** The cell of the pixel in which a trial's star lies, counted from 0 along each axis. */
export function phaseOf(trial: number): { phaseX: number; phaseY: number } {
  const cell = trial % stratum;
  return { phaseX: cell % phases, phaseY: Math.floor(cell / phases) };
}

export interface SimulatedFrame {
  /** Electrons, sky and dark included, row by row. Overwritten by the next frame. */
  readonly pixels: Float64Array;
  /** Background as measured on the frame's own border, electrons per pixel. */
  readonly background: number;
  /** True position of the star, px. */
  readonly x: number;
  readonly y: number;
}

/** Stamps up to this many pixels keep the light of each place, made ready: 16 MB at most. */
const mostKeptPixels = 2 ** 14;

/**
 * Frames of a scene by trial number. The star stands in the middle of one cell of its pixel after the other: what repeats
 * with the pixel is averaged as exactly as by places at random, up to its 8th overtone. A trial draws from a stream of its
 * own, so a frame depends on the seed and its number alone.
 */
export function simulateFrames(
  scene: Scene,
  seed: string | number,
): {
  /** Expected 1 sigma error of `background`, electrons. */
  readonly backgroundSigma: number;
  frame(trial: number): SimulatedFrame;
} {
  const pixels = new Float64Array(scene.width * scene.height);
  const border = borderBackground(scene);
  const expose = prepareLightAt(scene, pixels);
  return {
    backgroundSigma: border.levelSigma,
    frame(trial) {
      const { phaseX, phaseY } = phaseOf(trial);
      const x = scene.column - 0.5 + (phaseX + 0.5) / phases;
      const y = scene.row - 0.5 + (phaseY + 0.5) / phases;
      expose(trial % stratum, x, y, randomStream(seed, 'trial', trial));
      return { pixels, background: border.levelOf(pixels), x, y };
    },
  };
}

/** A frame of the star at one place onto `pixels`; the same cell means the same place. */
type ExposeAt = (cell: number, x: number, y: number, random: RandomStream) => void;

function prepareLightAt(scene: Scene, pixels: Float64Array): ExposeAt {
  const plan = prepareScene(scene);
  const expected = new Float64Array(pixels.length);
  const render = (x: number, y: number): void => {
    plan.renderInto(expected, x, y, scene.fluxE);
    for (let k = 0; k < expected.length; k++) expected[k] += scene.backgroundE;
  };
  const oneDraw = prepareOneDraw(scene.camera, scene);
  if (oneDraw === undefined) {
    const exposure = prepareExposure(scene.camera, scene);
    return (_, x, y, random) => {
      render(x, y);
      exposure.exposeInto(pixels, expected, random);
    };
  }
  const kept: PreparedLight[] = [];
  return (cell, x, y, random) => {
    let light = kept[cell];
    if (light === undefined) {
      render(x, y);
      light = oneDraw.prepareLight(expected);
      if (pixels.length <= mostKeptPixels) kept[cell] = light;
    }
    oneDraw.exposeInto(pixels, light, random);
  };
}
