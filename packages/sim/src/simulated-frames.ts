/** Guide frames of a scene, each from random numbers of its own. */
import { prepareExposure, randomStream } from '@holdfast/psf';
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

/**
 * Frames of a scene by trial number. Star positions are stratified over the pixel; a trial draws from streams of its
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
  const plan = prepareScene(scene);
  const exposure = prepareExposure(scene.camera, scene);
  const expected = new Float64Array(scene.width * scene.height);
  const pixels = new Float64Array(expected.length);
  const border = borderBackground(scene);
  return {
    backgroundSigma: border.levelSigma,
    frame(trial) {
      const random = randomStream(seed, 'trial', trial);
      const place = random.stream('place');
      const { phaseX, phaseY } = phaseOf(trial);
      const x = scene.column - 0.5 + (phaseX + place.uniform()) / phases;
      const y = scene.row - 0.5 + (phaseY + place.uniform()) / phases;
      plan.renderInto(expected, x, y, scene.fluxE);
      for (let k = 0; k < expected.length; k++) expected[k] += scene.backgroundE;
      exposure.exposeInto(pixels, expected, random);
      return { pixels, background: border.levelOf(pixels), x, y };
    },
  };
}
