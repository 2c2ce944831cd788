import { randomStream } from '@holdfast/psf';

/** Uniform numbers in [0, 1). */
export const seededNumbers = (seed: string): (() => number) => {
  const stream = randomStream(seed);
  return () => stream.uniform();
};
