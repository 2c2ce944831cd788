/**
 * What a control loop does to noise and to a steady drift, as textbooks have it.
 *
 * A loop that takes the share g out of each measured offset turns white measurement noise into a geometric
 * moving average of it, with a minus sign: its variance is that of Roberts' control chart. The loop of one
 * frame's extra delay is an autoregression of order 2. The largest gain for so many frames of delay is a
 * theorem on the difference equation x(n + 1) = x(n) - q x(n - k).
 */
import { describe } from 'vitest';
import {
  correctionShares,
  errorTransfer,
  largestStableGain,
  loopNoiseRatio,
} from '../../packages/sim/src/motion/loop-response.ts';
import { checkPublished } from './published.ts';

const framesLate = (delay: number) => correctionShares({ exposureS: 1, delayS: delay, intervalS: 1 });
const rounding = 'rounding; the response is summed until nothing is left';

describe('noise of the position over noise of the measurement, variance', () => {
  for (const [proportionalGain, value] of [
    [0.2, 1 / 9],
    [0.5, 1 / 3],
    [1, 1],
    [1.5, 3],
  ])
    checkPublished(
      {
        what: `gain ${proportionalGain}, correction before the next frame`,
        value,
        tolerance: 1e-9,
        source:
          'Roberts 1959, Technometrics 1, 239: variance of a geometric moving average, r / (2 - r), from memory',
        note: rounding,
      },
      () => loopNoiseRatio(framesLate(0), { proportionalGain }) ** 2,
    );
  // Variance of x(n) = a x(n - 1) + b x(n - 2) + e: (1 - b) / ((1 + b) ((1 - b)^2 - a^2)) times that of e;
  // here a = 1, b = -g, e = g N.
  for (const g of [0.3, 0.6])
    checkPublished(
      {
        what: `gain ${g}, one frame of extra delay`,
        value: (g * g * (1 + g)) / ((1 - g) * ((1 + g) ** 2 - 1)),
        tolerance: 1e-9,
        source:
          'Box & Jenkins, Time Series Analysis, variance of a second-order autoregressive process, from memory',
        note: rounding,
      },
      () => loopNoiseRatio(framesLate(1), { proportionalGain: g }) ** 2,
    );
});

describe('largest stable gain', () => {
  for (const delay of [0, 1, 2, 3])
    checkPublished(
      {
        what: `${delay} frames of extra delay`,
        value: 2 * Math.cos((delay * Math.PI) / (2 * delay + 1)),
        tolerance: 1e-7,
        source: 'Levin & May 1976, Theor. Popul. Biol. 9, 178: 0 < q < 2 cos(k pi / (2 k + 1)), from memory',
        note: 'bisection',
      },
      () => largestStableGain(framesLate(delay)),
    );
});

describe('a loop with one integration follows a drift of v with the lag v T / g', () => {
  // Lag = v times the limit of error over frequency: |1 / (1 + L)| / (2 pi f).
  const slow = 1e-7;
  for (const delay of [0, 1])
    checkPublished(
      {
        what: `lag in intervals of drift, gain 0.4, ${delay} frames of extra delay`,
        value: 2.5,
        tolerance: 1e-5,
        source:
          'Franklin, Powell & Workman, Digital Control of Dynamic Systems: velocity constant g / T, from memory',
        note: 'taken at 1e-7 cycles per frame instead of 0',
      },
      () => errorTransfer(framesLate(delay), { proportionalGain: 0.4 }, slow) / (2 * Math.PI * slow),
    );
  checkPublished(
    {
      what: 'lag with an integral term, gain 0.4 and 0.05',
      value: 0,
      tolerance: 1e-4,
      source: 'Franklin, Powell & Workman: a second integration leaves no lag, from memory',
      note: 'taken at 1e-7 cycles per frame: 2 pi f / i is left',
    },
    () =>
      errorTransfer(framesLate(0), { proportionalGain: 0.4, integralGain: 0.05 }, slow) /
      (2 * Math.PI * slow),
  );
});

describe('a sine far slower than the loop is left to the share 2 pi f T / g', () => {
  // The worm of a small mount: one turn in 480 s (common practice, no source), corrected every 2 s.
  for (const proportionalGain of [0.3, 0.6])
    checkPublished(
      {
        what: `rest of a wave of 480 s, corrections every 2 s, gain ${proportionalGain}`,
        value: (2 * Math.PI * 2) / 480 / proportionalGain,
        tolerance: 0.01 * ((2 * Math.PI * 2) / 480 / proportionalGain),
        source:
          'Franklin, Powell & Workman, Digital Control of Dynamic Systems: error of a type-1 loop to a sine, |S| = omega / K, from memory',
        note: 'the next term is of the relative order of (2 pi f T / g)^2 / 2',
      },
      () => errorTransfer(framesLate(0), { proportionalGain }, 2 / 480),
    );
  // |1 - z| / |1 - (1 - g) z| on the unit circle at half of the sampling frequency, z = -1.
  checkPublished(
    {
      what: 'a wave of two intervals, gain 0.5: grown, not taken out',
      value: 2 / (2 - 0.5),
      tolerance: 1e-9,
      source: 'z-transform of the first-order loop (textbook; derived)',
      note: rounding,
    },
    () => errorTransfer(framesLate(0), { proportionalGain: 0.5 }, 0.5),
  );
});
