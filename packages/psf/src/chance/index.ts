/**
 * Reproducible random numbers and their distributions.
 *
 * random            streams of random numbers, named by a seed and labels
 * uniform           random bits and uniform numbers
 * xoshiro           the generator of streams by number
 * normal            normal numbers
 * poisson           Poisson counts
 * condensed-tables  any discrete distribution by looking it up
 */
export { numberedStreams, type RandomStream, randomStream, type StreamLabel } from './random.ts';
