import { describe, expect, test } from 'vitest';
import {
  correctionShares,
  errorTransfer,
  largestStableGain,
  loopIsStable,
  loopNoiseRatio,
} from '../../packages/sim/src/motion/loop-response.ts';
import { expectWithin } from '../expect-within.ts';

const prompt = correctionShares({ exposureS: 2, delayS: 0.5, intervalS: 2.5 });
const late = correctionShares({ exposureS: 2, delayS: 2, intervalS: 2 });

/**
 * The largest frame-to-frame error after many frames, by stepping through the loop's own difference equation.
 */
function errorAfter(
  shares: Float64Array,
  g: number,
  i: number,
  frames: number,
  disturbance: (frame: number) => number,
): number[] {
  const errors: number[] = [];
  const moves: number[] = [];
  let sum = 0;
  for (let n = 0; n < frames; n++) {
    let place = disturbance(n);
    for (let m = 0; m < n; m++) {
      let seen = 0;
      for (let j = 0; j < shares.length && j < n - m; j++) seen += shares[j];
      place += moves[m] * seen;
    }
    errors.push(place);
    sum += i * place;
    moves.push(-(g * place + sum));
  }
  return errors;
}

describe('how a correction shows up in later frames', () => {
  test('in full in the next one when it is done before that starts', () => {
    expect([...prompt]).toEqual([1]);
    expect([...correctionShares({ exposureS: 2, delayS: 0, intervalS: 2 })]).toEqual([1]);
  });
  test('one frame later with one frame of extra delay, two with two', () => {
    expect([...late]).toEqual([0, 1]);
    expect([...correctionShares({ exposureS: 2, delayS: 4, intervalS: 2 })]).toEqual([0, 0, 1]);
  });
  test('by parts when it comes during an exposure', () => {
    expect([...correctionShares({ exposureS: 2, delayS: 0.5, intervalS: 2 })]).toEqual([0.75, 0.25]);
    expect([...correctionShares({ exposureS: 2, delayS: 1, intervalS: 2 })]).toEqual([0.5, 0.5]);
    // (0.3 - 0.2) / 0.1 is a little less than 1: still all of it
    expect([...correctionShares({ exposureS: 0.1, delayS: 0.2, intervalS: 0.3 })]).toEqual([1]);
    // 1.5 s after the end of one exposure the next has been going on for 0.5 of its 2 s
    expect([...correctionShares({ exposureS: 2, delayS: 1.5, intervalS: 3 })]).toEqual([0.75, 0.25]);
  });
  test('times that cannot be are named', () => {
    expect(() => correctionShares({ exposureS: 2, delayS: 0, intervalS: 1 })).toThrow(
      /intervalS must be at least the exposure of 2 s, got 1/,
    );
    expect(() => correctionShares({ exposureS: 2, delayS: -1, intervalS: 2 })).toThrow(/delayS .*got -1/);
  });
});

describe('stability', () => {
  test('found by the roots agrees with what the difference equation does', () => {
    for (const shares of [prompt, late, Float64Array.of(0.75, 0.25), Float64Array.of(0, 0.5, 0.5)])
      for (const g of [0.1, 0.4, 0.7, 0.95, 1.05, 1.4, 1.9, 2.1])
        for (const i of [0, 0.05, 0.3]) {
          const errors = errorAfter(shares, g, i, 400, (n) => (n === 0 ? 1 : 0)).map(Math.abs);
          const [early, end] = [errors.slice(200, 250), errors.slice(350)].map((some) => Math.max(...some));
          const label = `${shares} g=${g} i=${i}`;
          expect([label, loopIsStable(shares, { proportionalGain: g, integralGain: i })]).toEqual([
            label,
            end < early || end < 1e-12,
          ]);
        }
  });
  test('a gain of 0 or below, and an integral term without a proportional one, come to no rest', () => {
    expect(loopIsStable(prompt, { proportionalGain: 0 })).toBe(false);
    expect(loopIsStable(prompt, { proportionalGain: -0.2 })).toBe(false);
    expect(loopIsStable(late, { proportionalGain: 0, integralGain: 0.1 })).toBe(false);
  });
  // z^2 - (1 - w g) z + (1 - w) g has its roots within the unit circle while (1 - w) g < 1 and w g - 1 < 1 +
  // (1 - w) g.
  test.each([0.6, 0.75, 0.9])(
    'a correction seen to %d in the next frame allows gains up to the Jury limit',
    (w) => {
      const limit = Math.min(1 / (1 - w), 2 / (2 * w - 1));
      expectWithin(
        largestStableGain(Float64Array.of(w, 1 - w)),
        limit,
        1e-7,
        'a double root of the unit circle at 0.75',
      );
    },
  );
});

test('with two frames of extra delay gains up to 2 sin(pi / 10)', () => {
  // z^3 - z^2 + g on the unit circle: z^3 - z^2 = 2i sin(a / 2) exp(5i a / 2) is real first at a = pi / 5
  // (derived).
  const shares = Float64Array.of(0, 0, 1);
  expectWithin(largestStableGain(shares), 2 * Math.sin(Math.PI / 10), 1e-8, 'bisection');
});

describe('what the loop leaves of a disturbance', () => {
  test('without bound where the loop swings by itself', () => {
    expect(() => errorTransfer(prompt, { proportionalGain: 2 }, 0.5)).toThrow(/no bounded answer at 0\.5/);
  });
  test('all above, nothing far below the correction rate; more than all in between', () => {
    expectWithin(
      errorTransfer(prompt, { proportionalGain: 0.5 }, 1e-6),
      (2 * Math.PI * 1e-6) / 0.5,
      1e-10,
      'slow limit 2 pi f / g',
    );
    // q = -1: |1 - q| / |1 - (1 - g) q| = 2 / (2 - g)
    expectWithin(errorTransfer(prompt, { proportionalGain: 0.5 }, 0.5), 2 / 1.5, 1e-12, 'rounding');
  });
  test('agrees with the difference equation at any frequency', () => {
    for (const shares of [prompt, late, Float64Array.of(0.75, 0.25)])
      for (const [g, i] of [
        [0.4, 0],
        [0.6, 0.05],
      ])
        for (const cycles of [0.01, 0.05, 0.2, 0.4]) {
          const frames = 400;
          const errors = errorAfter(shares, g, i, frames, (n) => Math.cos(2 * Math.PI * cycles * n));
          let re = 0;
          let im = 0;
          for (let n = 200; n < frames; n++) {
            re += errors[n] * Math.cos(2 * Math.PI * cycles * n);
            im += errors[n] * Math.sin(2 * Math.PI * cycles * n);
          }
          const amplitude = Math.sqrt(re * re + im * im) / 100;
          const expected = errorTransfer(shares, { proportionalGain: g, integralGain: i }, cycles);
          expectWithin(amplitude, expected, 1e-6, 'what is left of the start after 200 frames');
        }
  });
});

describe('noise that the loop makes of white measurement noise', () => {
  test('is the root of the sum of squares of its answer to one wrong measurement', () => {
    for (const shares of [prompt, late, Float64Array.of(0.75, 0.25)])
      for (const [g, i] of [
        [0.3, 0],
        [0.7, 0],
        [0.5, 0.05],
      ]) {
        // A single error n of one measurement moves the star by what a correction of -n (g, then i each)
        // does.
        const frames = 500;
        const errors = errorAfter(shares, g, i, frames, (n) => {
          let seen = 0;
          for (let j = 0; j < n && j < shares.length; j++) seen += shares[j] * (g + i * (n - j));
          return -seen;
        });
        const rms = Math.sqrt(errors.reduce((total, error) => total + error * error, 0));
        expectWithin(
          loopNoiseRatio(shares, { proportionalGain: g, integralGain: i }),
          rms,
          1e-6,
          'both sums are cut off where nothing is left',
        );
      }
  });
  test('sqrt(g / (2 - g)) when the next frame sees all of a correction', () => {
    expectWithin(loopNoiseRatio(prompt, { proportionalGain: 0.5 }), Math.sqrt(1 / 3), 1e-9, 'textbook');
  });
  test('has no end in a loop that is not stable', () => {
    expect(loopNoiseRatio(prompt, { proportionalGain: 2.1 })).toBe(Infinity);
  });
});
