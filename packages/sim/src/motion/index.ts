/**
 * What moves the star, and what a loop leaves of it.
 *
 * guide-loop             the rig's loop: noise, air and mount in the corrected position
 * loop-response          stability, error transfer and noise of a loop, by theory
 * chased-air             what the loop adds by following moving air, for one star or several
 * image-motion           motion of the star by moving air, exposure by exposure
 * image-motion-spectrum  its power spectrum
 * mount                  drift, periodic error, backlash, correction speed
 * wind-gusts             gusts as a Gauss-Markov process
 */
export { loopNoiseFactor } from './guide-loop.ts';
export { defaultMount, type Mount, type PeriodicError, perfectMount } from './mount.ts';
