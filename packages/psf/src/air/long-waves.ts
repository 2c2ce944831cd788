/**
 * The long waves of a phase screen, those below the frequency at which a periodic tile takes over. They hold
 * most of a star's motion, and a tile cannot hold them.
 *
 * The square of frequencies that the tile leaves is cut into rings, each twice as wide as the next one
 * inwards, and half of each ring (the other half belongs to the same real waves) into equal sectors. One
 * plane wave stands for a sector. Its frequency is drawn there with a density g as k^(-5/3), its amplitude is
 * normal with variance 2 W(k) / g(k): the mean over many draws of any second moment is then that of the
 * continuous spectrum, at every separation, and each wave of a ring tilts the wavefront alike. What lies
 * inside the smallest ring is a plane whose slope has the variance of that disc.
 */

import type { RandomStream } from '../chance/random.ts';
import { writePhasor } from '../numerics/angle.ts';
import { exp, log } from '../numerics/exp-log.ts';
import { gaussLegendre } from '../numerics/quadrature.ts';
import { Renewal } from './renewal.ts';
import { phasePower, type Turbulence } from './turbulence.ts';

const rings = 10;
const sectors = 6;
const longWaveCount = rings * sectors;

/** Travel after which the amplitudes of a ring are new, in units of the shortest wavelength of the ring. */
const hopWavelengths = 8;

/**
 * The long waves of one sky. Frequencies are fixed for a draw; amplitudes are renewed as the screen travels.
 */
export interface LongWaves {
  /**
   * Frequencies in cycles/mm and standard deviations in rad of each wave, and of the slope of the plane in
   * rad/mm.
   */
  readonly kx: Float64Array;
  readonly ky: Float64Array;
  readonly amplitude: Float64Array;
  readonly slopeSigma: number;
  /** Draw another sky. */
  renew(random: RandomStream): void;
  /**
   * Add the waves to `out` (row-major, samples * samples), rad, after the screen has moved by travel (mm)
   * along (ux, uy).
   */
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
  random: RandomStream,
): LongWaves {
  return new RingsOfWaves(turbulence, cutoff, samples, spacingMm, random);
}

class RingsOfWaves implements LongWaves {
  readonly kx = new Float64Array(longWaveCount);
  readonly ky = new Float64Array(longWaveCount);
  readonly amplitude = new Float64Array(longWaveCount);
  readonly slopeSigma: number;
  readonly #turbulence: Turbulence;
  readonly #cutoff: number;
  readonly #samples: number;
  readonly #spacingMm: number;
  readonly #slope = { x: 0, y: 0 };
  /**
   * exp(2 pi i kx x) and exp(2 pi i ky y) of each wave along the sides of the window, whose center is the
   * origin.
   */
  readonly #alongX: Float64Array;
  readonly #alongY: Float64Array;
  /** Complex amplitude of each wave at the center of the window at this moment. */
  readonly #now = new Float64Array(2 * longWaveCount);
  readonly #renewals: readonly Renewal[];
  readonly #phasor = new Float64Array(2);
  #random: RandomStream;

  constructor(
    turbulence: Turbulence,
    cutoff: number,
    samples: number,
    spacingMm: number,
    random: RandomStream,
  ) {
    this.#turbulence = turbulence;
    this.#cutoff = cutoff;
    this.#samples = samples;
    this.#spacingMm = spacingMm;
    this.slopeSigma = Math.sqrt(slopeVariance(cutoff / 2 ** rings, turbulence));
    this.#alongX = new Float64Array(2 * samples * longWaveCount);
    this.#alongY = new Float64Array(2 * samples * longWaveCount);
    this.#renewals = Array.from(
      { length: rings },
      (_, ring) =>
        new Renewal(2 * sectors, (out, generation) => {
          const draw = this.#random.stream('ring', ring, generation);
          for (let n = 0; n < out.length; n++) out[n] = draw.normal();
        }),
    );
    this.#random = random;
    this.renew(random);
  }

  renew(random: RandomStream): void {
    this.#random = random;
    for (let ring = 0; ring < rings; ring++) {
      this.#renewals[ring].forget();
      this.#placeRing(ring, random.stream('ring', ring));
    }
    const plane = random.stream('plane');
    this.#slope.x = this.slopeSigma * plane.normal();
    this.#slope.y = this.slopeSigma * plane.normal();
    this.#fillPhases(this.#alongX, this.kx);
    this.#fillPhases(this.#alongY, this.ky);
  }

  /**
   * Draw the frequency of each wave of a ring in its sector, and set its amplitude by the density of that
   * draw.
   */
  #placeRing(ring: number, place: RandomStream): void {
    const direction = this.#phasor;
    const outer = this.#cutoff / 2 ** ring;
    const low = cubeRoot(outer / 2);
    for (let sector = 0; sector < sectors; sector++) {
      writePhasor(direction, 0, (sector + place.uniform()) / (2 * sectors));
      // The outermost ring reaches up to the square that the tile leaves.
      const edge = ring === 0 ? outer / Math.max(Math.abs(direction[0]), Math.abs(direction[1])) : outer;
      // The cube root of k is uniform between those of the borders: density k^(-5/3) times the ring's
      // circumference.
      const spread = cubeRoot(edge) - low;
      const root = low + spread * place.uniform();
      const k = root * root * root;
      const wave = ring * sectors + sector;
      this.kx[wave] = k * direction[0];
      this.ky[wave] = k * direction[1];
      // 1 / g = k^(5/3) times the integral of k^(-5/3) over the sector, were its edge at this k all along.
      const share = k * root * root * (Math.PI / sectors) * 3 * spread;
      this.amplitude[wave] = Math.sqrt(2 * phasePower(k * k, this.#turbulence) * share);
    }
  }

  #fillPhases(along: Float64Array, frequency: Float64Array): void {
    for (let wave = 0; wave < longWaveCount; wave++)
      for (let i = 0; i < this.#samples; i++) {
        const fromCenter = (i - (this.#samples - 1) / 2) * this.#spacingMm;
        writePhasor(along, 2 * (this.#samples * wave + i), frequency[wave] * fromCenter);
      }
  }

  #moveWaves(travelMm: number, ux: number, uy: number): void {
    const now = this.#now;
    const turn = this.#phasor;
    for (let ring = 0; ring < rings; ring++) {
      const renewal = this.#renewals[ring];
      renewal.moveTo((travelMm * this.#cutoff) / (hopWavelengths * 2 ** ring));
      const { old, fresh, fading, growing } = renewal;
      for (let sector = 0; sector < sectors; sector++) {
        const wave = ring * sectors + sector;
        const re = this.amplitude[wave] * (fading * old[2 * sector] + growing * fresh[2 * sector]);
        const im = this.amplitude[wave] * (fading * old[2 * sector + 1] + growing * fresh[2 * sector + 1]);
        writePhasor(turn, 0, -(this.kx[wave] * ux + this.ky[wave] * uy) * travelMm);
        now[2 * wave] = re * turn[0] - im * turn[1];
        now[2 * wave + 1] = re * turn[1] + im * turn[0];
      }
    }
  }

  addInto(out: Float64Array, travelMm: number, ux: number, uy: number): void {
    this.#moveWaves(travelMm, ux, uy);
    // Locals, since V8 reads a private field anew in each turn of the inner loops.
    const samples = this.#samples;
    const now = this.#now;
    const alongX = this.#alongX;
    const alongY = this.#alongY;
    const middle = (samples - 1) / 2;
    const planeStep = this.#slope.x * this.#spacingMm;
    for (let y = 0; y < samples; y++) {
      const row = y * samples;
      const planeRow = this.#slope.y * this.#spacingMm * (y - middle);
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
}

/**
 * Variance of the slope along one axis, rad^2/mm^2, of all waves below `cutoff`:
 *
 *   (2 pi)^2 / 2 * integral of k^2 W(k) 2 pi k dk from 0 to cutoff
 *
 * taken in the cube root of k, in which the integrand is constant for Kolmogorov's law and smooth for any
 * outer scale.
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
