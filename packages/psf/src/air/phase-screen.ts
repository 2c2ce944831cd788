/**
 * What the air does to a wavefront at one moment: a random screen of optical path differences over the pupil,
 * carried along by the wind.
 */

import type { RandomStream } from '../chance/random.ts';
import { unitVector } from '../numerics/angle.ts';
import { requireFinite, requireInteger, requirePositive } from '../numerics/require.ts';
import { type LongWaves, prepareLongWaves } from './long-waves.ts';
import { prepareTile, type ScreenTile, tileCutoffCycles } from './screen-tile.ts';
import { friedParameterMm, type Seeing, seeingWavelengthNm } from './seeing.ts';
import type { Turbulence } from './turbulence.ts';

/** A square window of sky. */
export interface ScreenWindow {
  /**
   * Samples along each side of the square window that is looked at, from 4 to 1024 (which take some 350 MB).
   */
  readonly samples: number;
  /** Distance between neighboring samples, mm. */
  readonly spacingMm: number;
}

export interface PhaseScreenOptions extends ScreenWindow {
  /** How turbulent the air is. The path differences that follow hold at every wavelength. */
  readonly seeing: Seeing;
  /** Direction in which the screen moves, degrees from +x toward +y. Default 0. */
  readonly windAngleDeg?: number;
}

/**
 * One sky after the other, seen through a fixed window. Holds its scratch: one screen serves one caller at a
 * time.
 */
export interface PhaseScreen extends ScreenWindow {
  /** Start another sky, independent of all before if the stream is. */
  renew(random: RandomStream): void;
  /**
   * Overwrite `out` with the path difference over the window, nm (> 0: retarded), after the screen has moved.
   *
   * @param out       row-major, samples * samples
   * @param travelMm  how far the screen has moved since the start of this sky, any finite number; default 0
   * @throws RangeError for an `out` of another length or a travel that is not finite
   */
  opdInto(out: Float64Array, travelMm?: number): void;
}

/**
 * A window onto a sky that has the structure function of Kolmogorov's or von Karman's law and moves as one
 * (frozen flow).
 *
 * Waves up to 2.5 cycles per tile are drawn one by one with random frequencies (`long-waves.ts`), those above
 * come from an FFT over a tile of at least twice the side of the window, on a lattice that is shifted at
 * random (`screen-tile.ts`). Both are moved by turning phases: no interpolation, so any travel is exact for
 * the waves there are. The mean over the window is 0.
 *
 * Errors: in the mean over skies, only the waves shorter than two samples are missing, 0.23 (spacing /
 * r0)^(5/3) rad^2 of variance. That takes 0.3, 0.1 and 0.0 % from the structure function at separations of
 * 0.1, 0.5 and 1 apertures with 64 samples across, and 1.0, 0.1 and 0.0 % with 32. For one sky the placing of
 * the waves scatters it by 2 to 4 %.
 *
 * A long run does not repeat. A tile is faded into a new one over half its length, and each ring of long
 * waves gets new amplitudes over 8 of its shortest wavelengths: every frame has the right statistics, and the
 * frames of a run together those of many skies but for the one placing of its waves. The price is that the
 * screen slowly boils: two frames a distance d apart are less alike by the factor cos(pi d / side) for the
 * tile's waves, where frozen flow alone leaves little likeness anyhow. The tilt from waves more than 400
 * tiles long (with an infinite outer scale 10 % of the variance of slope) stays as drawn until `renew`.
 *
 * ```ts
 * const seeing = { fwhmArcsec: 2, outerScaleMm: 20_000 }
 * const screen = preparePhaseScreen({ seeing, samples: 64, spacingMm: 4 }, randomStream(7, 'sky'))
 * const opdNm = new Float64Array(64 * 64)
 * for (let step = 0; step < 100; step++) screen.opdInto(opdNm, 10 * step)
 * ```
 * The method: Lane, Glindemann & Dainty 1992, Waves in Random Media 2, 209 (FFT with subharmonics);
 * Charnotskii 2013, JOSA A 30, 479 (waves of random frequency); both from memory.
 *
 * @param random names the first sky: the same stream gives the same screen, whatever was drawn from it before
 * @throws RangeError or TypeError naming the option that is out of range
 */
export function preparePhaseScreen(options: PhaseScreenOptions, random: RandomStream): PhaseScreen {
  const { seeing, samples, spacingMm, windAngleDeg = 0 } = options;
  const turbulence: Turbulence = {
    friedParameterMm: friedParameterMm(seeing, seeingWavelengthNm),
    outerScaleMm: seeing.outerScaleMm ?? Infinity,
  };
  requireInteger('samples', samples, 4, 1024);
  requirePositive('spacingMm', spacingMm);
  const wind = unitVector(requireFinite('windAngleDeg', windAngleDeg));
  const { tile, longWaves } = prepareParts(options, turbulence, random);
  const nmPerRad = seeingWavelengthNm / (2 * Math.PI);
  return {
    samples,
    spacingMm,
    renew(next) {
      tile.renew(next);
      longWaves.renew(next);
    },
    opdInto(out, travelMm = 0) {
      if (out.length !== samples * samples)
        throw new RangeError(
          `out must have samples * samples = ${samples * samples} values, got ${out.length}`,
        );
      requireFinite('travelMm', travelMm);
      tile.writeInto(out, travelMm, wind.x, wind.y);
      longWaves.addInto(out, travelMm, wind.x, wind.y);
      let sum = 0;
      for (let k = 0; k < out.length; k++) sum += out[k];
      const mean = sum / out.length;
      for (let k = 0; k < out.length; k++) out[k] = nmPerRad * (out[k] - mean);
    },
  };
}

/** The two parts of a screen, which share the frequency plane between them. */
export function prepareParts(
  { samples, spacingMm }: ScreenWindow,
  turbulence: Turbulence,
  random: RandomStream,
): { readonly tile: ScreenTile; readonly longWaves: LongWaves } {
  let size = 8;
  while (size < 2 * samples) size *= 2;
  const cutoff = tileCutoffCycles / (size * spacingMm);
  return {
    tile: prepareTile(turbulence, size, samples, spacingMm, random),
    longWaves: prepareLongWaves(turbulence, cutoff, samples, spacingMm, random),
  };
}
