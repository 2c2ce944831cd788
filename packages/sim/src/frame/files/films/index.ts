/**
 * Films and pictures without compression.
 *
 * netpbm-read   PGM and PPM, in bytes or digits
 * y4m-read      a frame of a Y4M film
 * avi-chunks    the layout of an AVI film: its stream, and where its frames lie
 * avi-read      a frame of an AVI film without compression
 * coded-values  what a file leaves open that does not say how its values follow the light
 */
export { readAvi } from './avi-read.ts';
export { widening } from './coded-values.ts';
export { readNetpbm } from './netpbm-read.ts';
export { readY4m } from './y4m-read.ts';
