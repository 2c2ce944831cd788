/**
 * A real frame: its file in and out, and the stars measured in it.
 *
 * frame-file     a frame from FITS, PNG or TIFF, told by its first bytes; colours and mosaics made one image
 * frame-facts    when and how it was taken, by its header
 * fits-read      one image out of the bytes of a FITS file, or the exact reason why there is none
 * fits-file      the same from a file on disk or from a file picker, gzip or not
 * fits-write     FITS bytes from an image
 * fits-header    keywords of a header by name
 * measure-frame  every star of a frame, each measured with its neighbours taken off
 * measured-star  one star: positions, size, sky, ring, coma, focus
 * sequence       many frames of the same stars: positions, motion, noise, focus against time
 * focuser-calibration  um of focus shift for a step, position of focus, obstruction, from frames at known positions
 * rig-camera     what measuring a frame needs, by the rig and the frame's header
 * frame-to-fits  a simulated frame as a FITS file
 * ring-fit       diameters, hole and blur of a star's ring, each with its error; the focus shift they imply
 *
 * Behind them
 *   file-bytes                        bytes from what holds them; gzip
 *   picture, png-chunks, png-read, tiff-read   PNG and TIFF by their decoders, refused where those would err
 *   colour-channels, mosaic, frame-mosaic, fits-colours   one image out of many colours
 *   fits-card, fits-hdu, fits-data    one card; one header and data unit; pixels from bytes
 *   fits-signature, fits-write-card   what the first bytes say; keywords as cards
 *   star-window, frame-positions      aperture and sky of a star; the estimators set up for it
 *   likeness                          what a star looks like, as it can be drawn
 *   aperture-light, coma-measure      flux, peak, half-flux diameter, moments; how much of a comet it is
 *   neighbour-light, beside-light     other stars, taken off; light beyond a ring's edge
 *   ring-model, ring-start            the picture fitted; a first guess
 *   ring-descent, ring-normal         the steps of the fit; the sums they are solved from
 *   ring-weights                      how much a pixel counts
 *   ring-covariance, ring-error       errors where the light is uneven
 *   ring-derived                      what follows from the fit
 *   follow-stars, match-stars         the same stars on frame after frame
 *   sequence-order, sequence-focus, sequence-result   frames in order of time; the focus; what it all comes to
 *   common-motion, noise-split, sequence-split   what stars do together, and each alone
 *   straight-line                     a line through points with errors
 *   symmetric-matrix, median          small systems; the middle of a list
 */

export type { ApertureLight, ThirdMoments } from './aperture-light.ts';
export type { ColourTake } from './colour-channels.ts';
export { type ComaEstimate, comaFromHole, comaFromMoments } from './coma-measure.ts';
export type { ByteSource } from './file-bytes.ts';
export type { FitsCard, FitsComplex, FitsValue } from './fits-card.ts';
export { type FitsFileOptions, readFitsFile } from './fits-file.ts';
export type { FitsFailure, FitsFailureReason } from './fits-hdu.ts';
export { type FitsHeader, fitsNumber, fitsText, fitsValue } from './fits-header.ts';
export { type FitsImage, type FitsReadOptions, type FitsReadResult, readFits } from './fits-read.ts';
export { type FitsWriteOptions, writeFits } from './fits-write.ts';
export type { FitsKeyword } from './fits-write-card.ts';
export {
  type CalibrationFailureReason,
  type CalibrationResult,
  calibrateFocuser,
  type FocusBranch,
  type FocuserCalibration,
  type FocuserOptions,
  type FocuserPoint,
  focuserPoint,
  focuserPoints,
} from './focuser-calibration.ts';
export { type FrameFacts, frameFacts } from './frame-facts.ts';
export {
  type FrameFailure,
  type FrameFileOptions,
  type FrameImage,
  type FrameReadResult,
  readFrameFile,
} from './frame-file.ts';
export type { FramePositions } from './frame-positions.ts';
export { type FrameInfo, frameToFits } from './frame-to-fits.ts';
export type { Likeness } from './likeness.ts';
export {
  type FrameRegion,
  type MeasureFrameOptions,
  measureFrame,
  measureFrameDefaults,
} from './measure-frame.ts';
export type { MeasuredStar } from './measured-star.ts';
export type { MosaicPattern, PixelSampling } from './mosaic.ts';
export type { PictureFailureReason } from './picture.ts';
export { type RigCamera, rigCamera } from './rig-camera.ts';
export {
  fitRing,
  type RingFailureReason,
  type RingFit,
  type RingFitOptions,
  type RingFound,
} from './ring-fit.ts';
export {
  measureSequence,
  type SequenceFrame,
  type SequenceOptions,
  sequenceDefaults,
} from './sequence.ts';
export type { FocusDrift } from './sequence-focus.ts';
export type {
  SequenceFailure,
  SequenceFrameRecord,
  SequenceResult,
  SequenceStar,
  TrackPoint,
} from './sequence-result.ts';
export type { AxisMotion, EstimatorSplit, NoiseSource, StarSplit } from './sequence-split.ts';
