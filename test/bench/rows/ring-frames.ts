/** Noisy frames of a ring, each with its position: the inner loop of every sweep. */
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { prepareThresholdedCenterOfMass } from '@holdfast/centroid';
import { buildScene, parseRig, prepareScene, type Rig, type Scene, simulateFrames } from '@holdfast/sim';
import { type ReferenceSide, scratchFolder, startC, startPython } from '../reference-process.ts';
import type { Reference, Row, Side } from '../row.ts';

/**
 * Expected frames that the references are given ready made: one for each place of the star in its pixel, as
 * ours stand.
 */
const places = 16;

const side = 32;

/** A telescope of 150 mm f/5 whose rings are 16 px wide 0.3 mm from focus. */
export const ringRig = (): Rig =>
  parseRig({
    name: 'Bench',
    telescope: { apertureMm: 150, focalLengthMm: 750, obstructionRatio: 0.35 },
    guideCamera: { pixelSizeUm: 3.75, exposureS: 1, readNoiseE: 1.5 },
    mainCamera: { pixelSizeUm: 3.75 },
    sky: { seeingFwhmArcsec: 2.5 },
    guideStar: { magnitude: 11 },
    filters: [{ name: 'Luminance', focusShiftUm: 0 }],
  });

/**
 * A ring of 3000 electrons, 16 px wide, on sky of 1.85 electrons per pixel, read with a noise of 1.5
 * electrons.
 */
export function ringScene(): Scene {
  const scene = buildScene(ringRig(), { focusShiftUm: 300, fluxE: 3000 });
  return { ...scene, backgroundE: 1.85, width: side, height: side, column: 15, row: 15 };
}

/** Threshold above the background, electrons: twice the noise of an empty pixel. */
const thresholdOf = ({ backgroundE, pixelNoiseE }: Scene): number =>
  2 * Math.sqrt(backgroundE + pixelNoiseE ** 2);

export const row: Row = {
  name: 'ring-frames',
  work: 'frame of a noisy ring, 32 x 32 px, simulated and measured (thresholded center of mass)',
  unit: 'frame',
  prepare() {
    const scene = ringScene();
    const input = writeScene(scene);
    const ours = ownSide(scene);
    const started: { readonly label: string; readonly side: ReferenceSide }[] = [];
    const reference = (label: string, goal: number, start: () => ReferenceSide): Reference => ({
      label,
      goal,
      start() {
        const side = start();
        started.push({ label, side });
        return side;
      },
    });
    return {
      ours,
      references: [
        reference('numpy', 15, () => startPython('ring_frames.py', [input])),
        reference('C, exact Poisson and normal numbers per pixel, -O3', 6, () =>
          startC('ring-frames.c', ['-O3'], ['-lm'], [input]),
        ),
        reference('C, the algorithm of ours, -O3 -march=native', 0.9, () =>
          startC('ring-frames-tables.c', ['-O3', '-march=native'], ['-lm'], [input]),
        ),
      ],
      agreement() {
        const texts = started.map(({ label, side }) => {
          const rms = Math.sqrt(side.numbers[0] / side.numbers[1]);
          // Some 1e4 frames a slice: each rms is known to 1 %.
          if (!(Math.abs(rms / ours.rmsPx() - 1) < 0.05))
            throw new Error(`rms error ${rms} px by ${label}, ${ours.rmsPx()} px by ours`);
          return `${label.split(',')[0]} ${rms.toFixed(4)}`;
        });
        return `rms error of the position, px: ours ${ours.rmsPx().toFixed(4)}, ${texts.join(', ')}`;
      },
    };
  },
};

/**
 * Frames and their positions by the public functions; no error is predicted, as the references predict none.
 */
function ownSide(scene: Scene): Side & { rmsPx(): number } {
  const frames = simulateFrames(scene, 'bench');
  const measure = prepareThresholdedCenterOfMass(scene, { threshold: thresholdOf(scene) });
  let trial = 0;
  let squares = 0;
  return {
    run(count) {
      const begin = performance.now();
      for (let i = 0; i < count; i++, trial++) {
        const { pixels, background, x, y } = frames.frame(trial);
        const found = measure(pixels, undefined, background);
        if (!found.ok) throw new Error(`frame ${trial} is lost: ${found.reason}`);
        squares += (found.x - x) ** 2 + (found.y - y) ** 2;
      }
      return (performance.now() - begin) / 1000;
    },
    rmsPx: () => Math.sqrt(squares / (2 * trial)),
  };
}

/**
 * All that the references need, as doubles: numbers, expected frames, true positions. Returns the file's
 * path.
 */
function writeScene(scene: Scene): string {
  const { width, height, column, row, fluxE, backgroundE, camera } = scene;
  const plan = prepareScene(scene);
  const expected: number[] = [];
  const truth: number[] = [];
  const pixels = new Float64Array(width * height);
  for (let i = 0; i < places; i++) {
    const x = column - 0.5 + (i + 0.5) / places;
    const y = row - 0.5 + (((5 * i) % places) + 0.5) / places;
    plan.renderInto(pixels, x, y, fluxE);
    expected.push(...pixels.map((electrons) => electrons + backgroundE));
    truth.push(x, y);
  }
  // The background is measured on the border, as simulateFrames does it.
  const inner = scene.radiusPx + 0.75;
  const head = [
    ...[width, height, places, camera.readNoiseE, camera.gainEPerAdu, camera.offsetAdu],
    ...[2 ** camera.bitDepth - 1, thresholdOf(scene), column, row, inner * inner],
  ];
  const path = join(scratchFolder, 'ring-frames.bin');
  writeFileSync(path, new Uint8Array(Float64Array.from([...head, ...expected, ...truth]).buffer));
  return path;
}
