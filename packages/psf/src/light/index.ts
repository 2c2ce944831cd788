/**
 * Photometry: from magnitudes to electrons.
 *
 * bands       photons of a star of magnitude 0 in each band
 * photometry  electrons of a star and of sky background
 * star-snr    signal-to-noise ratio of a star
 */
export { type BandName, bands } from './bands.ts';
export {
  type LightCollection,
  type SkyLight,
  type StarLight,
  skyElectronsPerPx,
  starElectrons,
} from './photometry.ts';
export { magnitudeError, type StarSnrOptions, snrOfStar } from './star-snr.ts';
