/** From magnitudes to electrons: a star, and its sky background. */

import { exp } from '../numerics/exp-log.ts';
import { requireNames } from '../numerics/options.ts';
import {
  requireBelow,
  requireFinite,
  requireNonNegative,
  requirePositive,
  requireWithin,
} from '../numerics/require.ts';
import { type BandName, requireBand } from './bands.ts';

/** What collects the light, for how long. */
export interface LightCollection {
  /** Which magnitudes are given; 'clear' for a camera without a filter, with V magnitudes. */
  readonly band: BandName;
  /** Width of the wavelength range that reaches the sensor, nm. Default: that of the band. */
  readonly bandwidthNm?: number;
  /** Diameter of the telescope, mm. */
  readonly apertureMm: number;
  /** Linear central obstruction, in [0, 1). */
  readonly obstructionRatio: number;
  /**
   * Fraction of the light that gets through the optics to the sensor (mirrors, windows, pick-off), in [0, 1].
   */
  readonly throughput: number;
  /** Electrons per photon at the sensor, averaged over the band, in [0, 1]. */
  readonly quantumEfficiency: number;
  /** Exposure time, s, >= 0. */
  readonly exposureS: number;
}

/** A star of known magnitude and the telescope that collects its light. */
export interface StarLight extends LightCollection {
  /** Magnitude above the atmosphere. */
  readonly magnitude: number;
  /** Air mass, 1 at the zenith to 40 at the horizon. Default 1. */
  readonly airmass?: number;
  /**
   * Magnitudes lost per air mass. Default 0. Common at V: 0.12 on a high mountain, 0.15 to 0.25 at low sites.
   */
  readonly extinctionMagPerAirmass?: number;
}

/** A sky of known brightness and the telescope that collects its light. */
export interface SkyLight extends LightCollection {
  /**
   * Sky brightness as seen from the ground, magnitudes per square arcsecond: no extinction is taken off
   * again.
   */
  readonly skyMagPerArcsec2: number;
  /** Side of a pixel, arcsec; see `plateScaleArcsecPerPx`. */
  readonly pixelScaleArcsec: number;
}

/**
 * Electrons of a star in one exposure.
 *
 *   electrons = photons(0 mag) * bandwidth * pi D^2 (1 - eps^2) / 4 * throughput * QE * t * 10^(-0.4 (m + k
 *   X))
 *
 * Good to some 3 % in the flux scale (published V zero points run from 971 to 1007 photons s^-1 cm^-2 A^-1);
 * the color of the star and the clarity of the night matter more.
 *
 * ```ts
 * const telescope = { band: 'clear', apertureMm: 200, obstructionRatio: 0.35, throughput: 0.7, quantumEfficiency: 0.6 } as const
 * starElectrons({ ...telescope, magnitude: 12, exposureS: 2 }) // 11,000
 * ```
 * @throws RangeError or TypeError naming the argument that is out of range
 */
export function starElectrons(star: StarLight): number {
  requireNames(
    'star',
    star,
    'band bandwidthNm apertureMm obstructionRatio throughput quantumEfficiency exposureS',
    'magnitude airmass extinctionMagPerAirmass',
  );
  const { magnitude, airmass = 1, extinctionMagPerAirmass = 0 } = star;
  requireWithin('magnitude', requireFinite('magnitude', magnitude), -100, 100);
  requireWithin('airmass', airmass, 1, 40);
  requireNonNegative('extinctionMagPerAirmass', extinctionMagPerAirmass);
  return electronsOfMagnitude(magnitude + extinctionMagPerAirmass * airmass, star);
}

/**
 * Electrons of sky background in one pixel and exposure: those of a star of its magnitude per square
 * arcsecond, times the area of the pixel in square arcseconds.
 *
 * @throws RangeError or TypeError naming the argument that is out of range
 */
export function skyElectronsPerPx(sky: SkyLight): number {
  requireNames(
    'sky',
    sky,
    'band bandwidthNm apertureMm obstructionRatio throughput quantumEfficiency exposureS',
    'skyMagPerArcsec2 pixelScaleArcsec',
  );
  const { skyMagPerArcsec2, pixelScaleArcsec } = sky;
  requireWithin('skyMagPerArcsec2', requireFinite('skyMagPerArcsec2', skyMagPerArcsec2), -100, 100);
  requirePositive('pixelScaleArcsec', pixelScaleArcsec);
  return electronsOfMagnitude(skyMagPerArcsec2, sky) * pixelScaleArcsec * pixelScaleArcsec;
}

function electronsOfMagnitude(magnitude: number, collection: LightCollection): number {
  const { apertureMm, obstructionRatio, throughput, quantumEfficiency, exposureS } = collection;
  const band = requireBand(collection.band);
  const bandwidthNm = requirePositive('bandwidthNm', collection.bandwidthNm ?? band.bandwidthNm);
  requirePositive('apertureMm', apertureMm);
  requireBelow('obstructionRatio', obstructionRatio, 0, 1);
  requireWithin('throughput', throughput, 0, 1);
  requireWithin('quantumEfficiency', quantumEfficiency, 0, 1);
  requireNonNegative('exposureS', exposureS);
  const apertureCm = apertureMm / 10;
  const areaCm2 = (Math.PI / 4) * apertureCm * apertureCm * (1 - obstructionRatio * obstructionRatio);
  const photonsPerS = band.photonsPerSCm2Nm * bandwidthNm * areaCm2 * relativeFlux(magnitude);
  return photonsPerS * throughput * quantumEfficiency * exposureS;
}

/** 10^(-0.4 m). */
function relativeFlux(magnitude: number): number {
  return exp(-0.4 * Math.LN10 * magnitude);
}
