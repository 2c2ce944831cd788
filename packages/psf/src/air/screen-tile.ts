/**
 * The short waves of a phase screen: a tile by FFT, from the frequency at which the long waves end up to the
 * finest that the samples carry. The tile moves by turning the phase of each of its waves, so that a shift by
 * any part of a sample is exact.
 *
 * The frequencies stand on a lattice of one cycle per side, which is shifted as a whole by a random part of
 * its step for each sky: the mean over skies of any second moment is then that of the continuous spectrum, as
 * for the long waves.
 */

import type { RandomStream } from '../chance/random.ts';
import { writePhasor } from '../numerics/angle.ts';
import { planFourier2d } from '../numerics/fourier/fourier.ts';
import { Renewal } from './renewal.ts';
import { phasePower, type Turbulence } from './turbulence.ts';

/**
 * The lattice leaves out the frequencies up to this many steps along each axis, and so a square to the long
 * waves.
 */
const leftOut = 2;
/** Half the side of that square, cycles per side of the tile. */
export const tileCutoffCycles = leftOut + 0.5;

export interface ScreenTile {
  /**
   * Variance that each wave of the tile adds to the phase, rad^2, row by row in the order of the transform.
   */
  readonly power: Float64Array;
  /** What is added to the whole cycles per side of each wave, from -1/2 to 1/2. */
  readonly shift: { x: number; y: number };
  /** Draw another sky. */
  renew(random: RandomStream): void;
  /**
   * Overwrite `out` (row-major, samples * samples) with the tile, rad, moved by travel (mm) along (ux, uy).
   */
  writeInto(out: Float64Array, travelMm: number, ux: number, uy: number): void;
}

/**
 * @param size     samples along a side of the tile, a power of two
 * @param samples  samples along a side of the window that is written, at most size / 2
 */
export function prepareTile(
  turbulence: Turbulence,
  size: number,
  samples: number,
  spacingMm: number,
  firstRandom: RandomStream,
): ScreenTile {
  const side = size * spacingMm;
  const fourier = planFourier2d(size);
  const power = new Float64Array(size * size);
  const sigma = new Float64Array(size * size);
  const shift = { x: 0, y: 0 };
  // exp(2 pi i shift x / size) along the sides of the window: what the shift of the lattice adds to its
  // transform.
  const rampX = new Float64Array(2 * samples);
  const rampY = new Float64Array(2 * samples);
  const renewal = new Renewal(2 * size * size, (waves, hop) => {
    const draw = random.stream('tile', hop);
    for (let k = 0; k < sigma.length; k++) {
      const s = sigma[k];
      waves[2 * k] = s === 0 ? 0 : s * draw.normal();
      waves[2 * k + 1] = s === 0 ? 0 : s * draw.normal();
    }
  });
  const work = new Float64Array(2 * size * size);
  const turnX = new Float64Array(2 * size);
  const turnY = new Float64Array(2 * size);
  let random = firstRandom;

  function renew(next: RandomStream): void {
    random = next;
    renewal.forget();
    const lattice = random.stream('lattice');
    shift.x = lattice.uniform() - 0.5;
    shift.y = lattice.uniform() - 0.5;
    for (let i = 0; i < samples; i++) {
      writePhasor(rampX, 2 * i, (shift.x * i) / size);
      writePhasor(rampY, 2 * i, (shift.y * i) / size);
    }
    const cell = 1 / (side * side);
    for (let j = 0, k = 0; j < size; j++) {
      const down = j < size / 2 ? j : j - size;
      for (let i = 0; i < size; i++, k++) {
        const across = i < size / 2 ? i : i - size;
        const used =
          Math.max(Math.abs(across), Math.abs(down)) > leftOut && across > -size / 2 && down > -size / 2;
        const cycles2 = (across + shift.x) * (across + shift.x) + (down + shift.y) * (down + shift.y);
        power[k] = used ? cell * phasePower(cycles2 * cell, turbulence) : 0;
        // The inverse transform divides by size^2.
        sigma[k] = size * size * Math.sqrt(power[k]);
      }
    }
  }

  /** The transform of the tile at this moment. */
  function moveWaves(travelMm: number, ux: number, uy: number): void {
    // A tile comes back after its own length, so it is replaced within that.
    renewal.moveTo((2 * travelMm) / side);
    const { old, fresh, fading, growing } = renewal;
    for (let i = 0; i < size; i++) {
      const cycles = i < size / 2 ? i : i - size;
      writePhasor(turnX, 2 * i, (-(cycles + shift.x) * ux * travelMm) / side);
      writePhasor(turnY, 2 * i, (-(cycles + shift.y) * uy * travelMm) / side);
    }
    for (let j = 0, k = 0; j < size; j++) {
      const yRe = turnY[2 * j];
      const yIm = turnY[2 * j + 1];
      for (let i = 0; i < 2 * size; i += 2, k += 2) {
        const turnRe = turnX[i] * yRe - turnX[i + 1] * yIm;
        const turnIm = turnX[i] * yIm + turnX[i + 1] * yRe;
        const re = fading * old[k] + growing * fresh[k];
        const im = fading * old[k + 1] + growing * fresh[k + 1];
        work[k] = re * turnRe - im * turnIm;
        work[k + 1] = re * turnIm + im * turnRe;
      }
    }
  }

  function writeInto(out: Float64Array, travelMm: number, ux: number, uy: number): void {
    moveWaves(travelMm, ux, uy);
    fourier.inverse(work);
    for (let y = 0, to = 0; y < samples; y++) {
      const yRe = rampY[2 * y];
      const yIm = rampY[2 * y + 1];
      let k = 2 * y * size;
      for (let x = 0; x < samples; x++, to++, k += 2) {
        const rampRe = rampX[2 * x] * yRe - rampX[2 * x + 1] * yIm;
        const rampIm = rampX[2 * x] * yIm + rampX[2 * x + 1] * yRe;
        out[to] = work[k] * rampRe - work[k + 1] * rampIm;
      }
    }
  }

  renew(random);
  return { power, shift, renew, writeInto };
}
