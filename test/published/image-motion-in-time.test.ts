/**
 * How a star's image moves in time: its variance in short exposures, and the slopes of its power spectrum for
 * one layer of air that the wind carries over the aperture.
 */
import { describe } from 'vitest';
import { motionSpectrum } from '../../packages/sim/src/motion/image-motion-spectrum.ts';
import { checkPublished } from './published.ts';

const clear = motionSpectrum({ obstructionRatio: 0, outerScale: Infinity });

/** Integral over frequencies in v / D, in equal steps of the logarithm. */
function variance(spectrum: (frequency: number) => number): number {
  const step = 0.002;
  let sum = 0;
  for (let w = Math.log(1e-9); w < Math.log(10); w += step) sum += step * Math.exp(w) * spectrum(Math.exp(w));
  return sum;
}

/** Slope on logarithms from the means over two ranges that are a factor apart; the means take out ripples. */
function slope(spectrum: (frequency: number) => number, low: number, factor: number): number {
  const mean = (from: number) => {
    let sum = 0;
    for (let n = 0; n < 400; n++) sum += Math.log(spectrum(from * factor ** ((n + 0.5) / 400)));
    return sum / 400;
  };
  return (mean(low * factor) - mean(low)) / Math.log(factor);
}

describe('the variance of short exposures, lambda^2 D^(-1/3) r0^(-5/3)', () => {
  for (const [direction, spectrum] of [
    ['along the wind', clear.along],
    ['across it', clear.across],
  ] as const) {
    const what = `variance ${direction}`;
    checkPublished(
      {
        what,
        value: 0.17,
        tolerance: 0.0012,
        source: 'Tokovinin 2002, PASP 114, 1156 (0.340 / 2), from memory',
        note: 'half a digit of 0.340; 0.0003 lie below the slowest wave',
      },
      () => variance(spectrum),
    );
    checkPublished(
      {
        what,
        value: 0.17,
        tolerance: 0.005,
        source: 'Martin 1987, PASP 99, 1360, from memory',
        note: 'printed with two digits; papers that print 0.18 mean the tilt that fits best',
      },
      () => variance(spectrum),
    );
  }
});

describe('the slopes of the spectrum', () => {
  const source = 'Martin 1987, PASP 99, 1360; Conan, Rousset & Madec 1995, JOSA A 12, 1559; from memory';
  for (const [direction, spectrum] of [
    ['along the wind', clear.along],
    ['across it', clear.across],
  ] as const) {
    checkPublished(
      {
        what: `slope at low frequencies ${direction}`,
        value: -2 / 3,
        tolerance: 0.005,
        source,
        note: 'between 1e-5 and 1e-3 v / D',
      },
      () => slope(spectrum, 1e-5, 10),
    );
    checkPublished(
      {
        what: `slope at high frequencies ${direction}`,
        value: -11 / 3,
        tolerance: 0.25,
        source,
        note: 'between 1 and 9 v / D, where ripples of the aperture are not gone yet',
      },
      () => slope(spectrum, 1, 3),
    );
  }
});
