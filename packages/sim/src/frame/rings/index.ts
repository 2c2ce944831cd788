/**
 * The ring of one star: diameters, hole and blur, fitted to the whole picture.
 *
 * disc-light       discs of even light, blurred, and their slopes
 * disc-pair        the picture of a filled disc whose colors have unlike sizes
 * picture-model    a picture of one star as a fit needs it
 * ring-binned      a fit on bins of the picture first: its work does not grow with the ring
 * ring-covariance  errors where the light is uneven
 * ring-derived     what follows from the fit
 * ring-descent     the steps of the fit of a picture
 * ring-doubt       what a plainer ring would say: an error where the picture is none of the model
 * ring-edge        slopes of a blurred disc in closed form
 * ring-error       variance of what is correlated over some pixels
 * ring-fit         diameters, hole and blur of a star's ring, each with its error; the focus shift they imply
 * ring-model       the picture fitted
 * ring-normal      the sums that each step is solved from
 * ring-pair        two discs where one does not explain the light
 * ring-start       a first guess
 * ring-weights     how much a pixel counts
 */
export {
  fitRing,
  type RingFailureReason,
  type RingFit,
  type RingFitOptions,
  type RingFound,
} from './ring-fit.ts';
