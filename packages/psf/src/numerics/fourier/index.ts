/**
 * Fast Fourier transforms.
 *
 * fourier       transforms of a square; the only file that imports fft.js
 * radix-passes  transforms of several lines side by side
 * radix-8       the passes of radix 8 of these
 */
export * from './fourier.ts';
export * from './radix-8.ts';
export * from './radix-passes.ts';
