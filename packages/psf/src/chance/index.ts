/**
 * Random numbers, reproducible by seed.
 *
 * random            random streams, each named by a seed and labels
 * uniform           random bits and uniform numbers
 * xoshiro           generator of the numbered streams
 * normal            normal numbers
 * poisson           Poisson counts
 * condensed-tables  any discrete distribution by table look-up
 */
export { type RandomStream, randomStream, type StreamLabel } from './random.ts';
