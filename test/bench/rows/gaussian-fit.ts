/** Least-squares fit of a Gaussian star: an iterative solver against those that people reach for. */
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { prepareGaussianFit } from '@holdfast/centroid';
import { defaultCamera, prepareExposure, prepareStar, randomStream } from '@holdfast/psf';
import { type ReferenceSide, scratchFolder, startC, startPython } from '../reference-process.ts';
import type { Reference, Row, Side } from '../row.ts';

const side = 15;
const stars = 256;

/** References and ours must agree this well on every star, px; the stars' own noise is some 0.02 px. */
const agreementPx = 1e-4;

export const row: Row = {
  name: 'gaussian-fit',
  work: 'least-squares fit of a star, 15 x 15 px: position, width, flux, background free',
  unit: 'fit',
  prepare() {
    const frames = starFrames();
    const input = join(scratchFolder, 'gaussian-fit.bin');
    writeFileSync(input, new Uint8Array(Float64Array.from([side, side, stars, ...frames]).buffer));
    const ours = ownSide(frames);
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
        reference('scipy least_squares, method lm', 30, () => startPython('gaussian_fit.py', [input])),
        reference('GSL multifit_nlinear, lm, in C -O3', 0.7, () =>
          startC('gaussian-fit.c', ['-O3'], ['-lgsl', '-lgslcblas', '-lm'], [input]),
        ),
      ],
      agreement() {
        const texts = started.map(({ label, side }) => {
          const worst = largestDifference(side.numbers, ours.positions);
          if (!(worst < agreementPx)) throw new Error(`${label} is ${worst} px off ours`);
          return `${label.split(' ')[0]} within ${worst.toExponential(1)} px`;
        });
        return `same ${stars} stars: ${texts.join(', ')} of ours`;
      },
    };
  },
};

/**
 * Stars of 3000 electrons, rms width 1.6 px, anywhere on the middle pixel, on sky of 5 electrons, read noise
 * 1.5.
 */
export function starFrames(): Float64Array {
  const size = { width: side, height: side };
  const plan = prepareStar({ kind: 'gaussian', fwhmPx: 1.6 * 2.3548 }, size);
  const camera = { ...defaultCamera, readNoiseE: 1.5, gainEPerAdu: 0.5 };
  const exposure = prepareExposure(camera, size);
  const frames = new Float64Array(stars * side * side);
  const expected = new Float64Array(side * side);
  const places = randomStream('gaussian fit', 'place');
  for (let i = 0; i < stars; i++) {
    plan.renderInto(expected, 6.5 + places.uniform(), 6.5 + places.uniform(), 3000);
    for (let k = 0; k < expected.length; k++) expected[k] += 5;
    const frame = frames.subarray(i * expected.length, (i + 1) * expected.length);
    exposure.exposeInto(frame, expected, randomStream('gaussian fit', i));
  }
  return frames;
}

function ownSide(frames: Float64Array): Side & { readonly positions: Float64Array } {
  const fit = prepareGaussianFit({ width: side, height: side });
  const positions = new Float64Array(2 * stars);
  const frame = Array.from({ length: stars }, (_, i) =>
    frames.subarray(i * side * side, (i + 1) * side * side),
  );
  let star = 0;
  return {
    positions,
    run(count) {
      const begin = performance.now();
      for (let i = 0; i < count; i++, star = (star + 1) % stars) {
        const found = fit(frame[star]);
        if (!found.ok) throw new Error(`star ${star} is lost: ${found.reason}`);
        positions[2 * star] = found.x;
        positions[2 * star + 1] = found.y;
      }
      return (performance.now() - begin) / 1000;
    },
  };
}

/** Over the coordinates that both have measured: a slow reference may not have come to the last star. */
function largestDifference(theirs: readonly number[], ours: Float64Array): number {
  let worst = 0;
  let compared = 0;
  for (let i = 0; i < ours.length; i++)
    if (theirs[i] !== 0 && ours[i] !== 0) {
      worst = Math.max(worst, Math.abs(theirs[i] - ours[i]));
      compared++;
    }
  return compared > 0 ? worst : Infinity;
}
