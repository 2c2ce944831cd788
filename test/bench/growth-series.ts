/** Works whose size can be varied: the cost should grow as the size, and with transforms as n log n. */
import { cpus } from 'node:os';
import { locateStar, prepareGaussianFit, prepareThresholdedCenterOfMass } from '@holdfast/centroid';
import {
  createImage,
  defaultCamera,
  diffractionSampling,
  exposeFrame,
  prepareStar,
  randomStream,
  renderStar,
} from '@holdfast/psf';
import { compareEstimators, simulateFrames, sweep } from '@holdfast/sim';
import { sweepWorkers } from '@holdfast/sim/workers';
import type { Side } from './row.ts';
import { shapeAt, stamp } from './rows/diffraction-image.ts';
import { ringRig, ringScene } from './rows/ring-frames.ts';

export interface GrowthSeries {
  readonly name: string;
  /** What is varied, as the axis says it. */
  readonly axis: string;
  readonly sizes: readonly number[];
  /** Name of what `workOf` gives. */
  readonly work: string;
  /**
   * What the cost should be proportional to. The exponent is that of the cost as a power of it: 1 is as it
   * should be, less means that a fixed cost still shows.
   */
  workOf(size: number): number;
  /** One unit is the work of that size, once. */
  sideOf(size: number): Side;
}

const itself = (size: number): number => size;
const squared = (side: number): number => side * side;

/** A side whose unit is a call. */
const calls = (call: () => void): Side => ({
  run(count) {
    const begin = performance.now();
    for (let i = 0; i < count; i++) call();
    return (performance.now() - begin) / 1000;
  },
});

export const growthSeries: readonly GrowthSeries[] = [
  {
    name: 'a noisy frame, measured',
    axis: 'side of the stamp, px',
    work: 'pixels',
    sizes: [24, 32, 48, 64, 96, 128],
    workOf: squared,
    sideOf(side) {
      const middle = Math.floor((side - 1) / 2);
      const scene = { ...ringScene(), width: side, height: side, column: middle, row: middle };
      const frames = simulateFrames(scene, 'growth');
      const measure = prepareThresholdedCenterOfMass(scene, { threshold: 4 });
      let trial = 0;
      return calls(() => {
        const { pixels, background } = frames.frame(trial++);
        measure(pixels, undefined, background);
      });
    },
  },
  {
    name: 'a Gaussian fit',
    axis: 'side of the stamp, px',
    work: 'pixels',
    sizes: [11, 15, 21, 31, 45, 63],
    workOf: squared,
    sideOf(side) {
      const middle = (side - 1) / 2 + 0.2;
      const light = renderStar(
        { kind: 'gaussian', fwhmPx: 4 },
        { width: side, height: side, x: middle, y: middle, flux: 5000 },
      );
      const frame = exposeFrame(light, defaultCamera, randomStream('growth', side));
      const fit = prepareGaussianFit({ width: side, height: side });
      return calls(() => fit(frame));
    },
  },
  {
    name: 'an error of the position',
    axis: 'trials',
    work: 'trials',
    sizes: [256, 512, 1024, 2048, 4096, 8192],
    workOf: itself,
    sideOf(trials) {
      const scene = ringScene();
      return calls(() =>
        compareEstimators(scene, { estimators: ['thresholdedCenterOfMass'], seed: 1, trials }),
      );
    },
  },
  {
    name: 'stars found in a frame',
    axis: 'side of the frame, px',
    work: 'pixels',
    sizes: [256, 384, 512, 768, 1024, 1536],
    workOf: squared,
    sideOf(side) {
      const light = createImage(side, side);
      renderStar(
        { kind: 'annulus', outerDiameterPx: 24, obstructionRatio: 0.35, blurFwhmPx: 3 },
        { width: side, height: side, x: 0.4 * side, y: 0.6 * side, flux: 20000 },
      ).data.forEach((electrons, k) => {
        light.data[k] = electrons + 5;
      });
      const frame = exposeFrame(light, defaultCamera, randomStream('growth', side));
      return calls(() => {
        if (locateStar(frame).length !== 1) throw new Error('one star expected');
      });
    },
  },
  {
    name: 'a diffraction image',
    axis: 'side of the transform, cells',
    work: 'n log n',
    sizes: [256, 512, 1024, 2048],
    workOf: (side) => side * side * Math.log2(side * side),
    sideOf(side) {
      const shape = { ...shapeAt(150), accuracy: { minPupilSamples: side / 2 } };
      const { transformSize } = diffractionSampling(shape);
      if (transformSize !== side) throw new Error(`transforms of ${transformSize}, not ${side}`);
      const pixels = new Float64Array(stamp.width * stamp.height);
      return calls(() => prepareStar(shape, stamp).renderInto(pixels, stamp.x, stamp.y, 1e4));
    },
  },
  {
    name: 'a share of a sweep for each worker',
    axis: 'workers; time of all cores',
    work: 'workers',
    sizes: Array.from({ length: Math.min(8, cpus().length) }, (_, i) => i + 1),
    workOf: itself,
    sideOf: workersSide,
  },
];

/** As many workers, each with cells of its own. Were they one thread, the time would grow as their number. */
function workersSide(size: number): Side {
  const runner = sweepWorkers({ size });
  const settings = Array.from({ length: 4 * size }, (_, i) => ({
    focusShiftUm: 250 + 10 * (i % 4),
    fluxE: 3000,
  }));
  return {
    async run(count) {
      const begin = performance.now();
      for (let i = 0; i < count; i++)
        for await (const _ of sweep(ringRig(), {
          settings,
          axes: { estimator: ['centerOfMass'] },
          seed: i,
          trials: 4096,
          runner,
        }));
      // Time of all cores, as for the others: where the workers do not hinder each other, it grows as their
      // number.
      return (size * (performance.now() - begin)) / 1000;
    },
    close: () => void runner.close(),
  };
}
