/**
 * Fast Fourier transforms.
 *
 * fourier       fast Fourier transforms; the only place that knows fft.js
 * radix-passes  the passes of a fast Fourier transform over lines side by side
 * radix-8       those of eight, written out
 */
export * from './fourier.ts';
export * from './radix-8.ts';
export * from './radix-passes.ts';
