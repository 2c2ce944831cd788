/**
 * One star at one setting: what the camera is expected to see, noisy frames of it, and the error of its
 * position.
 *
 * scene              rig + star + focus shift -> what the guide camera is expected to see
 * guide-band       the wavelengths of the guide light, and where each is in focus
 * star-model       rays or diffraction
 * scene-shape        which shape draws the star, where its center lies, how far it reaches
 * matched-snr        the SNR of a star's image, and the flux that gives one
 * estimators         the ways of measuring, set up for a scene
 * own-estimator      an estimator of your own among them
 * own-star           a star of your own in place of the model's
 * border-background  the background as measured on the frame itself
 * image-sums         centers of mass by compiled loops
 * simulated-frames   noisy guide frames of a scene, by trial number
 * kept-star          the scene's star drawn at the same few places again and again
 * window             the square that is measured
 * measure-error      many trials of a scene -> the parts of the position error
 * position-error     these parts: offset, pixel phase, scatter, response, noise-equivalent error
 * error-tally        one estimator's positions over many frames, and what they come to
 * axis-tally         the same along one axis
 * known-noise        sums over a frame's noise whose mean and covariance are known without a trial
 * noise-sums         the loops over its pixels
 * pixel-moments      mean and variance of a pixel, and of what a threshold leaves of it
 * explained-error    what of the errors follows these sums, and results with its chance taken out
 * least-error        the least possible error of a scene (Cramer-Rao bound)
 * statistics         means, rms and fractions with their uncertainty
 * analytic-error     an estimator's error without a trial, from the expected frame
 */
export type { EstimatorSetting } from './estimators.ts';
export { compareEstimators, measureError, type TrialOptions } from './measure-error.ts';
export type { AnyEstimator, NameOf, OwnEstimator, OwnEstimatorOptions } from './own-estimator.ts';
export type { OwnStar, OwnStarView } from './own-star.ts';
export type { LossReason, PositionError } from './position-error.ts';
export { buildScene, prepareScene, type Scene, type SceneSetting } from './scene.ts';
export { type SimulatedFrame, simulateFrames } from './simulated-frames.ts';
export type { Estimate, Interval } from './statistics.ts';
