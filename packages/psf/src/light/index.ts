/**
 * From magnitudes to electrons.
 *
 * bands       photons of a star of magnitude 0, band by band
 * photometry  from magnitudes to electrons of star and sky background
 * star-snr    how clearly a star stands out of its noise
 */
export { type Band, type BandName, bands } from './bands.ts';
export {
  type LightCollection,
  type SkyLight,
  type StarLight,
  skyElectronsPerPx,
  starElectrons,
} from './photometry.ts';
export { magnitudeError, type StarSnrOptions, snrOfStar } from './star-snr.ts';
