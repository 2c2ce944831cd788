import { randomStream } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import {
  defaultMount,
  perfectMount,
  prepareMotor,
  prepareMountErrors,
  requireMount,
} from '../../packages/sim/src/motion/mount.ts';
import { prepareGusts } from '../../packages/sim/src/motion/wind-gusts.ts';
import { prepareAxisLoop } from '../../packages/sim/src/tracking/control-loop.ts';
import { expectWithin, expectWithinSigmas } from '../expect-within.ts';

describe('a mount left to itself', () => {
  test('drifts, and swings with its worm on x alone', () => {
    const errors = prepareMountErrors(
      {
        ...perfectMount,
        driftArcsecPerS: { x: 0.01, y: -0.02 },
        periodicError: [
          { amplitudeArcsec: 5, periodS: 400, phaseDeg: 0 },
          { amplitudeArcsec: 1, periodS: 200, phaseDeg: 90 },
        ],
      },
      randomStream(1),
    );
    const at = (t: number) =>
      0.01 * t + 5 * Math.sin((2 * Math.PI * t) / 400) + Math.cos((2 * Math.PI * t) / 200) - 1;
    for (const t of [-300, -17, 0, 3, 100, 250, 12345]) {
      expectWithin(errors.x(t), at(t), 1e-10, 'rounding');
      expectWithin(errors.y(t), -0.02 * t, 1e-12, 'rounding');
    }
  });
  test('begins at a phase of its own where none is given, the same for the same stream', () => {
    const x = (seed: number) => prepareMountErrors(defaultMount, randomStream(seed)).x(100);
    expect(x(1)).toBe(x(1));
    expect(new Set([1, 2, 3, 4].map(x)).size).toBe(4);
  });
  test('what cannot be is named', () => {
    expect(() =>
      requireMount({ ...perfectMount, periodicError: [{ amplitudeArcsec: 1, periodS: 0 }] }),
    ).toThrow(/mount\.periodicError\[0\]\.periodS must be a finite number > 0, got 0/);
    expect(() => requireMount({ ...perfectMount, backlashArcsec: -1 })).toThrow(/backlashArcsec .*got -1/);
    expect(() => requireMount({ ...perfectMount, correctionSpeedArcsecPerS: 0 })).toThrow(
      /correctionSpeedArcsecPerS .*got 0/,
    );
  });
});

describe('a motor', () => {
  test('at once without limits', () => {
    const motor = prepareMotor(Infinity, 0);
    expect(motor.run(1)).toBe(0);
    motor.move(3);
    expect(motor.run(0.1)).toBe(3);
    motor.move(-1);
    expect(motor.run(0.1)).toBe(2);
  });
  test('at its own speed: the mean place over a step in which it moves', () => {
    const motor = prepareMotor(2, 0);
    motor.move(1);
    expect([motor.run(0.25), motor.run(0.25), motor.run(0.25)]).toEqual([0.25, 0.75, 1]);
  });
  test('through play: nothing moves on a reversal until the play is taken up', () => {
    const motor = prepareMotor(Infinity, 1);
    const go = (by: number) => {
      motor.move(by);
      return motor.run(1);
    };
    expect(go(0.5)).toBe(0); // from the middle of the play
    expect(go(0.25)).toBe(0.25);
    expect(go(1)).toBe(1.25);
    expect(go(-1)).toBe(1.25); // the play
    expect(go(-0.5)).toBe(0.75);
    expect(go(0.5)).toBe(0.75);
    expect(go(0.75)).toBe(1);
  });
});

describe('the loop on one axis', () => {
  test('takes out its share, on the other side', () => {
    expect(prepareAxisLoop({ proportionalGain: 0.6 }).correct(2)).toBe(-1.2);
  });
  test('leaves the dead zone alone, up to its border', () => {
    const { correct } = prepareAxisLoop({ proportionalGain: 0.5, deadZoneArcsec: 0.3 });
    expect([correct(0.3), correct(-0.2), correct(-0.4)]).toEqual([-0, -0, 0.2]);
  });
  test('makes no correction below the smallest and cuts those above the largest', () => {
    const { correct } = prepareAxisLoop({
      proportionalGain: 0.5,
      smallestCorrectionArcsec: 0.25,
      largestCorrectionArcsec: 2,
    });
    expect([correct(0.4), correct(0.5), correct(-100)]).toEqual([0, -0.25, 2]);
  });
  test('adds up its integral term, but not beyond the largest correction', () => {
    const { correct } = prepareAxisLoop({
      proportionalGain: 0.5,
      integralGain: 0.25,
      largestCorrectionArcsec: 2,
    });
    expect([correct(1), correct(1), correct(-1)]).toEqual([-0.75, -1, 0.25]);
    for (let i = 0; i < 50; i++) correct(10);
    // sum = 2: one offset of -1 takes 0.25 off it and 0.5 by proportion
    expect(correct(-1)).toBe(-1.25);
  });
  test('limits that exclude each other are named', () => {
    expect(() =>
      prepareAxisLoop({ proportionalGain: 1, smallestCorrectionArcsec: 1, largestCorrectionArcsec: 0.5 }),
    ).toThrow(/largestCorrectionArcsec must be above smallestCorrectionArcsec of 1, got 0.5/);
    expect(() => prepareAxisLoop({ proportionalGain: 1, deadZoneArcsec: -1 })).toThrow(/deadZoneArcsec/);
  });
});

describe('gusts', () => {
  const rms = 0.4;
  const gustTimeS = 3;
  const stepS = 0.5;
  // Means over runs of variance and covariance; each run gives one value of each, so that their spread is
  // their error.
  const runs = 400;
  const samples = 400;
  const means = (lag: number) => {
    const values = Array.from({ length: runs }, (_, run) => {
      const next = prepareGusts({ rmsArcsec: rms, gustTimeS }, stepS, randomStream('gusts', run));
      const gusts = Float64Array.from({ length: samples }, next);
      let sum = 0;
      for (let i = lag; i < samples; i++) sum += gusts[i] * gusts[i - lag];
      return sum / (samples - lag);
    });
    const mean = values.reduce((a, b) => a + b, 0) / runs;
    const spread = values.reduce((a, b) => a + (b - mean) ** 2, 0) / (runs - 1);
    return { mean, error: Math.sqrt(spread / runs) };
  };
  // Dryden's spectrum belongs to an exponential correlation, rms^2 exp(-t / T).
  test.each([0, 1, 4, 12])('are as alike after %d steps as their spectrum says', (lag) => {
    const { mean, error } = means(lag);
    expect(error / (rms * rms)).toBeLessThan(0.02);
    expectWithinSigmas(mean, rms * rms * Math.exp((-lag * stepS) / gustTimeS), error, 4);
  });
  test('are none without wind', () => {
    const next = prepareGusts({ rmsArcsec: 0, gustTimeS }, stepS, randomStream(1));
    expect([next(), next()]).toEqual([0, 0]);
  });
});
