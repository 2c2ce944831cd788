/**
 * The short waves of a phase screen: a periodic tile by FFT, from the frequency at which the long waves end up to the
 * finest that the samples carry. The tile moves by turning the phase of each of its waves, so that a shift by any part
 * of a sample is exact.
 */
import type { FourierPlan2d } from './fourier.ts';
import { planFourier2d } from './fourier.ts';
import { writePhasor } from './phasor.ts';
import type { RandomStream } from './random.ts';
import { phasePower, type Turbulence } from './turbulence.ts';

/** Long waves end at this many cycles per side of the tile. */
export const tileCutoffCycles = 2.5;

export interface ScreenTile {
  /** Variance of the phase that each wave of the tile carries, rad^2, row by row in the order of the transform. */
  readonly power: Float64Array;
  /** Draw another sky. */
  renew(random: RandomStream): void;
  /** Overwrite `out` (row-major, samples * samples) with the tile, rad, moved by travel (mm) along (ux, uy). */
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
  const fourier: FourierPlan2d = planFourier2d(size);
  const power = wavePowers(turbulence, size, side);
  // The inverse transform divides by size^2.
  const sigma = power.map((variance) => size * size * Math.sqrt(variance));
  const evenHops = { hop: Number.NaN, waves: new Float64Array(2 * size * size) };
  const oddHops = { hop: Number.NaN, waves: new Float64Array(2 * size * size) };
  const work = new Float64Array(2 * size * size);
  const turnX = new Float64Array(2 * size);
  const turnY = new Float64Array(2 * size);
  const phasor = new Float64Array(2);
  let random = firstRandom;

  function readyWaves(hop: number): Float64Array {
    const held = hop - 2 * Math.floor(hop / 2) === 0 ? evenHops : oddHops;
    if (held.hop !== hop) {
      const draw = random.stream('tile', hop);
      for (let k = 0; k < sigma.length; k++) {
        const s = sigma[k];
        held.waves[2 * k] = s === 0 ? 0 : s * draw.normal();
        held.waves[2 * k + 1] = s === 0 ? 0 : s * draw.normal();
      }
      held.hop = hop;
    }
    return held.waves;
  }

  function writeInto(out: Float64Array, travelMm: number, ux: number, uy: number): void {
    // A tile comes back after its own length, so it is replaced within that: the old one fades as a cosine, the new one
    // grows as a sine, and their variances add up to 1.
    const hops = (2 * travelMm) / side;
    const hop = Math.floor(hops);
    writePhasor(phasor, 0, 0.25 * (hops - hop));
    const fading = phasor[0];
    const growing = phasor[1];
    const old = readyWaves(hop);
    const fresh = growing === 0 ? old : readyWaves(hop + 1);
    for (let i = 0; i < size; i++) {
      const cycles = (i < size / 2 ? i : i - size) / side;
      writePhasor(turnX, 2 * i, -cycles * ux * travelMm);
      writePhasor(turnY, 2 * i, -cycles * uy * travelMm);
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
    fourier.inverse(work);
    for (let y = 0, k = 0; y < samples; y++) {
      for (let x = 0; x < samples; x++, k++) out[k] = work[2 * (y * size + x)];
    }
  }

  return {
    power,
    renew(next) {
      random = next;
      evenHops.hop = oddHops.hop = Number.NaN;
    },
    writeInto,
  };
}

/** Cells up to this many cycles per side are averaged, of which the nearest lie partly in the disc of the long waves. */
const averagedCycles = 8;
const pointsPerCellSide = 24;

/**
 * Variance of each wave. It is k^2 W(k) averaged over the wave's cell of the frequency plane, over k^2 at its centre:
 * weighted so, the slope of the wavefront is right, which a value of W at the centre misses by 25 / (216 n^2) at n
 * cycles. What lies within the disc of the long waves does not count, nor does the highest frequency, whose shift would
 * be ambiguous.
 */
function wavePowers(turbulence: Turbulence, size: number, side: number): Float64Array {
  const cell = 1 / (side * side);
  const power = new Float64Array(size * size);
  for (let j = 0; j < size; j++) {
    const down = Math.min(j, size - j);
    for (let i = 0; i < size; i++) {
      const across = Math.min(i, size - i);
      if (across === size / 2 || down === size / 2) continue;
      if (across === 0 && down === 0) continue;
      // Rows and columns above half the size mirror those below.
      const mirror = power[down * size + across];
      if (mirror > 0) power[j * size + i] = mirror;
      else if (across <= averagedCycles && down <= averagedCycles)
        power[j * size + i] = cell * cellAverage(turbulence, across, down, side);
      else {
        const n2 = across * across + down * down;
        power[j * size + i] = cell * phasePower(n2 * cell, turbulence) * (1 + 25 / (216 * n2));
      }
    }
  }
  return power;
}

function cellAverage(turbulence: Turbulence, across: number, down: number, side: number): number {
  let sum = 0;
  for (let b = 0; b < pointsPerCellSide; b++) {
    const v = down + (b + 0.5) / pointsPerCellSide - 0.5;
    for (let a = 0; a < pointsPerCellSide; a++) {
      const u = across + (a + 0.5) / pointsPerCellSide - 0.5;
      const n2 = u * u + v * v;
      if (n2 > tileCutoffCycles * tileCutoffCycles) sum += n2 * phasePower(n2 / (side * side), turbulence);
    }
  }
  return sum / (pointsPerCellSide * pointsPerCellSide * (across * across + down * down));
}
