/**
 * The long waves of a phase screen, those below the frequency at which a periodic tile takes over. They hold most of a
 * star's motion, and a tile cannot hold them.
 *
 * The square of frequencies that the tile leaves is cut into rings, each twice as wide as the next one inwards, and half
 * of each ring (the other half belongs to the same real waves) into equal sectors. One plane wave stands for a sector.
 * Its frequency is drawn there with a density g as k^(-5/3), its amplitude is normal with variance 2 W(k) / g(k): the
 * mean over many draws of any second moment is then that of the continuous spectrum, at every separation, and each wave
 * of a ring tilts the wavefront alike. What lies inside the smallest ring is a plane whose slope has the variance of that
 * disc.
 */

import type { RandomStream } from '../chance/random.ts';
import { writePhasor } from '../numerics/angle.ts';
import { exp, log } from '../numerics/exp-log.ts';
import { gaussLegendre } from '../numerics/quadrature.ts';
import { phasePower, type Turbulence } from './turbulence.ts';

const rings = 10;
const sectors = 6;
export const longWaveCount = rings * sectors;

/** Travel after which the amplitudes of a ring are new, in units of the shortest wavelength of the ring. */
const hopWavelengths = 8;

/** The long waves of one sky. Frequencies are fixed for a draw; amplitudes are renewed as the screen travels. */
export interface LongWaves {
  /** Frequencies in cycles/mm and standard deviations in rad of each wave, and of the slope of the plane in rad/mm. */
  readonly kx: Float64Array;
  readonly ky: Float64Array;
  readonly amplitude: Float64Array;
  readonly slopeSigma: number;
  /** Draw another sky. */
  renew(random: RandomStream): void;
  /** Add the waves to `out` (row-major, samples * samples), rad, after the screen has moved by travel (mm) along (ux, uy). */
  addInto(out: Float64Array, travelMm: number, ux: number, uy: number): void;
}

/**
 * @param cutoff  half the side of the square, cycles/mm
 */
export function prepareLongWaves(
  turbulence: Turbulence,
  cutoff: number,
  samples: number,
  spacingMm: number,
  firstRandom: RandomStream,
): LongWaves {
  const kx = new Float64Array(longWaveCount);
  const ky = new Float64Array(longWaveCount);
  const amplitude = new Float64Array(longWaveCount);
  const slopeSigma = Math.sqrt(slopeVariance(cutoff / 2 ** rings, turbulence));
  const slope = { x: 0, y: 0 };
  // exp(2 pi i kx x) and exp(2 pi i ky y) of each wave along the sides of the window, whose centre is the origin.
  const alongX = new Float64Array(2 * samples * longWaveCount);
  const alongY = new Float64Array(2 * samples * longWaveCount);
  const now = new Float64Array(2 * longWaveCount);
  const phasor = new Float64Array(2);
  const evenHops = ringNormals();
  const oddHops = ringNormals();
  let random = firstRandom;

  function renew(next: RandomStream): void {
    random = next;
    for (let ring = 0; ring < rings; ring++) {
      evenHops[ring].generation = oddHops[ring].generation = Number.NaN;
      placeRing(ring, random.stream('ring', ring));
    }
    const plane = random.stream('plane');
    slope.x = slopeSigma * plane.normal();
    slope.y = slopeSigma * plane.normal();
    for (let wave = 0; wave < longWaveCount; wave++) {
      for (let i = 0; i < samples; i++) {
        const fromCentre = (i - (samples - 1) / 2) * spacingMm;
        writePhasor(alongX, 2 * (samples * wave + i), kx[wave] * fromCentre);
        writePhasor(alongY, 2 * (samples * wave + i), ky[wave] * fromCentre);
      }
    }
  }

  function placeRing(ring: number, place: RandomStream): void {
    const outer = cutoff / 2 ** ring;
    const low = cubeRoot(outer / 2);
    for (let sector = 0; sector < sectors; sector++) {
      writePhasor(phasor, 0, (sector + place.uniform()) / (2 * sectors));
      // The outermost ring reaches up to the square that the tile leaves.
      const edge = ring === 0 ? outer / Math.max(Math.abs(phasor[0]), Math.abs(phasor[1])) : outer;
      // The cube root of k is uniform between those of the borders: density k^(-5/3) times the ring's circumference.
      const spread = cubeRoot(edge) - low;
      const root = low + spread * place.uniform();
      const k = root * root * root;
      const wave = ring * sectors + sector;
      kx[wave] = k * phasor[0];
      ky[wave] = k * phasor[1];
      // 1 / g = k^(5/3) times the integral of k^(-5/3) over the sector, were its edge at this k all along.
      const share = k * root * root * (Math.PI / sectors) * 3 * spread;
      amplitude[wave] = Math.sqrt(2 * phasePower(k * k, turbulence) * share);
    }
  }

  function readyNormals(held: RingNormals, ring: number, generation: number): Float64Array {
    if (held.generation !== generation) {
      const draw = random.stream('ring', ring, generation);
      for (let n = 0; n < 2 * sectors; n++) held.values[n] = draw.normal();
      held.generation = generation;
    }
    return held.values;
  }

  /** The complex amplitudes at the centre of the window at this moment. */
  function moveWaves(travelMm: number, ux: number, uy: number): void {
    for (let ring = 0; ring < rings; ring++) {
      const hops = (travelMm * cutoff) / (hopWavelengths * 2 ** ring);
      const generation = Math.floor(hops);
      // Old amplitudes fade as a cosine, new ones grow as a sine: independent, so their variances add up to 1.
      writePhasor(phasor, 0, 0.25 * (hops - generation));
      const fading = phasor[0];
      const growing = phasor[1];
      // Even generations stand in one slot, odd ones in the other, so that each is drawn once.
      const even = generation - 2 * Math.floor(generation / 2) === 0;
      const old = readyNormals(even ? evenHops[ring] : oddHops[ring], ring, generation);
      const fresh =
        growing === 0 ? old : readyNormals(even ? oddHops[ring] : evenHops[ring], ring, generation + 1);
      for (let sector = 0; sector < sectors; sector++) {
        const wave = ring * sectors + sector;
        const re = amplitude[wave] * (fading * old[2 * sector] + growing * fresh[2 * sector]);
        const im = amplitude[wave] * (fading * old[2 * sector + 1] + growing * fresh[2 * sector + 1]);
        writePhasor(phasor, 0, -(kx[wave] * ux + ky[wave] * uy) * travelMm);
        now[2 * wave] = re * phasor[0] - im * phasor[1];
        now[2 * wave + 1] = re * phasor[1] + im * phasor[0];
      }
    }
  }

  function addInto(out: Float64Array, travelMm: number, ux: number, uy: number): void {
    moveWaves(travelMm, ux, uy);
    const middle = (samples - 1) / 2;
    for (let y = 0; y < samples; y++) {
      const row = y * samples;
      const planeRow = slope.y * spacingMm * (y - middle);
      const planeStep = slope.x * spacingMm;
      for (let x = 0; x < samples; x++) out[row + x] += planeRow + planeStep * (x - middle);
      for (let wave = 0; wave < longWaveCount; wave++) {
        const at = 2 * (samples * wave + y);
        const re = now[2 * wave] * alongY[at] - now[2 * wave + 1] * alongY[at + 1];
        const im = now[2 * wave] * alongY[at + 1] + now[2 * wave + 1] * alongY[at];
        let k = 2 * samples * wave;
        for (let x = row; x < row + samples; x++) {
          out[x] += re * alongX[k] - im * alongX[k + 1];
          k += 2;
        }
      }
    }
  }

  renew(random);
  return { kx, ky, amplitude, slopeSigma, renew, addInto };
}

interface RingNormals {
  generation: number;
  readonly values: Float64Array;
}

function ringNormals(): RingNormals[] {
  return Array.from({ length: rings }, () => ({
    generation: Number.NaN,
    values: new Float64Array(2 * sectors),
  }));
}

/**
 * Variance of the slope along one axis, rad^2/mm^2, of all waves below `cutoff`:
 *
 *   (2 pi)^2 / 2 * integral of k^2 W(k) 2 pi k dk from 0 to cutoff
 *
 * taken in the cube root of k, in which the integrand is constant for Kolmogorov's law and smooth for any outer scale.
 */
function slopeVariance(cutoff: number, turbulence: Turbulence): number {
  const { nodes, weights } = gaussLegendre(48);
  const end = cubeRoot(cutoff);
  let integral = 0;
  for (let n = 0; n < nodes.length; n++) {
    const root = 0.5 * end * (1 + nodes[n]);
    const k = root * root * root;
    integral += 0.5 * end * weights[n] * phasePower(k * k, turbulence) * k * k * k * 3 * root * root;
  }
  return 4 * Math.PI * Math.PI * Math.PI * integral;
}

const cubeRoot = (x: number): number => exp(log(x) / 3);
