import { type Mount, perfectMount, type TrackOptions, trackStar } from '@holdfast/sim';
import { describe, expect, test } from 'vitest';
import {
  correctionShares,
  errorTransfer,
  loopNoiseRatio,
} from '../../packages/sim/src/motion/loop-response.ts';
import { calm } from '../../packages/sim/src/motion/wind-gusts.ts';
import { expectWithin, expectWithinSigmas } from '../expect-within.ts';
import { smallRig } from './small-rig.ts';

const rig = smallRig();

/** Nothing moves and nothing is measured wrongly; steps as long as an exposure, corrections at once. */
const still = {
  seed: 1,
  runs: 1,
  mount: perfectMount,
  wind: calm,
  air: null,
  measurement: 'gaussian',
  measurementRmsArcsec: 0,
  stepS: 2,
  loop: { delayS: 0, proportionalGain: 0.5 },
} satisfies Omit<TrackOptions, 'durationS'>;

const mount = (changes: Partial<Mount>): Mount => ({ ...perfectMount, ...changes });
const squares = (values: Float64Array) =>
  values.reduce((sum, value) => sum + value * value, 0) / values.length;

describe('white measurement noise', () => {
  const noisy = { ...still, runs: 24, durationS: 3000, measurementRmsArcsec: 0.2 };
  // The next frame sees all of a correction: E(n + 1) = (1 - g) E(n) - g N(n), whose variance is g / (2 - g):
  // textbook.
  test.each([0.2, 0.5, 0.8, 1.2, 1.6])(
    'becomes a position error of variance g / (2 - g), g = %d',
    async (g) => {
      const result = await trackStar(rig, {
        ...noisy,
        loop: { delayS: 0, proportionalGain: g },
      });
      expect(result.lostFraction.value).toBe(0);
      for (const rms of [result.position.rmsX, result.position.rmsY]) {
        expect(rms.standardError / rms.value).toBeLessThan(0.02);
        expectWithinSigmas(rms.value, 0.2 * Math.sqrt(g / (2 - g)), rms.standardError, 4);
      }
      expectWithin(result.loop.noiseRatio ?? 0, Math.sqrt(g / (2 - g)), 1e-9, 'sum of a series');
    },
  );
  // One frame later: E(n + 1) = E(n) - g (E(n - 1) + N(n - 1)), an autoregression of order 2 with
  // coefficients 1 and -g driven by noise of g sigma; its variance (1 - b) / ((1 + b) ((1 - b)^2 - a^2)) with
  // a = 1, b = -g gives g (1 + g) / ((1 - g) (2 + g)).
  test.each([0.2, 0.5, 0.8])(
    'with one frame of extra delay g (1 + g) / ((1 - g) (2 + g)), g = %d',
    async (g) => {
      const loop = { delayS: 2, intervalS: 2, proportionalGain: g };
      const result = await trackStar(rig, { ...noisy, loop });
      const expected = Math.sqrt((g * (1 + g)) / ((1 - g) * (2 + g)));
      for (const rms of [result.position.rmsX, result.position.rmsY])
        expectWithinSigmas(rms.value, 0.2 * expected, rms.standardError, 4);
      expectWithin(result.loop.noiseRatio ?? 0, expected, 1e-9, 'sum of a series');
    },
  );
  test('with corrections that fall into the next exposure as the theory of the discrete loop says', async () => {
    const loop = { delayS: 0.5, intervalS: 2, proportionalGain: 0.9, integralGain: 0.1 };
    const result = await trackStar(rig, { ...noisy, stepS: 0.5, loop });
    const ratio = loopNoiseRatio(correctionShares({ exposureS: 2, delayS: 0.5, intervalS: 2 }), loop);
    // In the frames, of which the result holds those of one run.
    const expected = 0.2 * ratio;
    const { errorX, errorY } = result.series.frames;
    const value = Math.sqrt((squares(errorX) + squares(errorY)) / 2);
    // 1500 frames on two axes, each alike to its neighbors for some 3 frames
    expectWithin(value / expected, 1, 4 * Math.sqrt(3 / (2 * 3000)), 'chance');
  });
});

describe('pure drift', () => {
  const drifting = { ...still, durationS: 400, mount: mount({ driftArcsecPerS: { x: 0.03, y: -0.05 } }) };
  test.each([0.3, 0.7, 1])('leaves the lag drift * interval / g, g = %d', async (g) => {
    const { series } = await trackStar(rig, { ...drifting, loop: { delayS: 0, proportionalGain: g } });
    const last = series.frames.errorX.length - 1;
    expectWithin(series.frames.errorX[last], (0.03 * 2) / g, 1e-9, 'what is left of the start');
    expectWithin(series.frames.errorY[last], (-0.05 * 2) / g, 1e-9, 'what is left of the start');
  });
  test('leaves nothing with an integral term', async () => {
    const { series } = await trackStar(rig, {
      ...drifting,
      loop: { delayS: 0, proportionalGain: 0.5, integralGain: 0.1 },
    });
    const last = series.frames.errorX.length - 1;
    expectWithin(series.frames.errorX[last], 0, 1e-9, 'what is left of the start');
    expectWithin(series.frames.errorY[last], 0, 1e-9, 'what is left of the start');
  });
  test('goes on without corrections', async () => {
    const { position, series } = await trackStar(rig, { ...drifting, guided: false, settleS: 0 });
    // From the middle of the first step.
    expectWithin(series.errorX[199], 0.03 * 399, 1e-9, 'rounding');
    expectWithin(position.peakY.value, 0.05 * 399, 1e-9, 'rounding');
  });
  test('is left alone within the dead zone, and not far beyond', async () => {
    const deadZoneArcsec = 0.5;
    const { series } = await trackStar(rig, {
      ...drifting,
      loop: { delayS: 0, proportionalGain: 0.5, deadZoneArcsec },
    });
    const largest = Math.max(...series.frames.errorX);
    expect(largest).toBeGreaterThan(deadZoneArcsec);
    // The first offset outside is at most one interval of drift beyond.
    expect(largest).toBeLessThanOrEqual(deadZoneArcsec + 0.03 * 2 + 1e-9);
    // A correction takes half of it away, so it never comes back to the set point.
    expect(Math.min(...series.frames.errorX)).toBeGreaterThan(deadZoneArcsec / 2);
  });
  test('reverses on y only through the backlash', async () => {
    const swinging = {
      ...still,
      durationS: 200,
      settleS: 0,
      measurementRmsArcsec: 0.3,
      loop: { delayS: 0, proportionalGain: 0.5 },
    };
    const tight = await trackStar(rig, swinging);
    const loose = await trackStar(rig, { ...swinging, mount: mount({ backlashArcsec: 100 }) });
    expect([...loose.series.errorX]).toEqual([...tight.series.errorX]);
    expect(tight.position.rmsY.value).toBeGreaterThan(0.1);
    expect(loose.position.rmsY.value).toBe(0);
  });
});

describe('periodic error', () => {
  test.each([
    [20, 0.6, 0],
    [60, 0.6, 0],
    [200, 0.6, 0],
    [480, 0.3, 0],
    [60, 0.6, 0.1],
    [480, 0.3, 0.05],
  ])(
    'of %d s is left as |1 / (1 + L)| says, gain %d, integral %d',
    async (periodS, proportionalGain, integralGain) => {
      const loop = { delayS: 0.5, proportionalGain, integralGain };
      const turns = 8;
      const { series, timing } = await trackStar(rig, {
        ...still,
        stepS: 0.1,
        durationS: turns * periodS,
        settleS: 400,
        mount: mount({ periodicError: [{ amplitudeArcsec: 0.5, periodS, phaseDeg: 30 }] }),
        loop,
      });
      const { errorX, intervalS, exposureS } = series.frames;
      // The interval of 2.5 s divides every period.
      let re = 0;
      let im = 0;
      for (let i = 0; i < errorX.length; i++) {
        const phase = (2 * Math.PI * i * intervalS) / periodS;
        re += errorX[i] * Math.cos(phase);
        im += errorX[i] * Math.sin(phase);
      }
      const amplitude = (2 * Math.sqrt(re * re + im * im)) / errorX.length;
      const half = (Math.PI * exposureS) / periodS;
      const seen = (0.5 * Math.sin(half)) / half;
      const expected = seen * errorTransfer(correctionShares(timing), loop, intervalS / periodS);
      expectWithin(amplitude / expected, 1, 2e-3, 'steps of 0.1 s for the mean over the exposure');
      expect(expected).toBeLessThan(seen * 1.6);
    },
  );
});

describe('a whole night', () => {
  const options = { seed: 5, runs: 2, durationS: 300, star: { focusShiftUm: 0, snr: 60 } };
  test('the same seed gives the same bits, another seed others', async () => {
    const events = [{ kind: 'no-star', startS: 100, durationS: 20 }] as const;
    const first = await trackStar(rig, { ...options, events });
    expect(await trackStar(rig, { ...options, events })).toEqual(first);
    expect((await trackStar(rig, { ...options, events, seed: 6 })).series.errorX[5]).not.toBe(
      first.series.errorX[5],
    );
  });
  test('each source draws from a stream of its own', async () => {
    const loose = { ...options, guided: false };
    const all = (await trackStar(rig, loose)).series;
    const noWind = (await trackStar(rig, { ...loose, wind: calm })).series;
    const noAir = (await trackStar(rig, { ...loose, air: null })).series;
    const noMount = (await trackStar(rig, { ...loose, mount: perfectMount })).series;
    const onlyWind = (await trackStar(rig, { ...loose, mount: perfectMount, air: null })).series;
    expect([...noWind.frames.airX]).toEqual([...all.frames.airX]);
    expect([...noMount.frames.airY]).toEqual([...all.frames.airY]);
    expect([...noAir.errorX]).toEqual([...all.errorX]);
    expect([...onlyWind.errorX]).toEqual([...noMount.errorX]);
    for (const i of [0, 7, 2999]) {
      expectWithin(all.errorX[i] - noWind.errorX[i], onlyWind.errorX[i], 1e-12, 'rounding');
      expect(noWind.errorX[i]).not.toBe(all.errorX[i]);
    }
  });
  test('more runs and a longer run leave what was there before', async () => {
    const short = await trackStar(rig, { ...options, runs: 1 });
    const long = await trackStar(rig, { ...options, runs: 3, durationS: 400 });
    expect([...long.series.errorX.subarray(0, 3000)]).toEqual([...short.series.errorX]);
  });
  test('drawn frames and normal errors of the known rms agree', async () => {
    const faint = {
      ...options,
      runs: 16,
      wind: calm,
      air: null,
      mount: perfectMount,
      star: { focusShiftUm: 0, snr: 15 },
    };
    const drawn = (await trackStar(rig, faint)).position;
    const known = (await trackStar(rig, { ...faint, measurement: 'gaussian' })).position;
    for (const axis of ['rmsX', 'rmsY'] as const) {
      const error = Math.sqrt(drawn[axis].standardError ** 2 + known[axis].standardError ** 2);
      // The known rms is itself from 128 trials on two axes: 4.4 % of its value.
      const both = Math.sqrt(error ** 2 + (0.045 * known[axis].value) ** 2);
      expectWithinSigmas(drawn[axis].value, known[axis].value, both, 4);
      expect(both / known[axis].value).toBeLessThan(0.1);
    }
  });
  test('a ring sees the same air as a star in focus, and is measured where both have brought it', async () => {
    const at = async (focusShiftUm: number) =>
      (await trackStar(rig, { ...options, runs: 1, star: { focusShiftUm, snr: 80 } })).series.frames;
    const [sharp, ring] = [await at(0), await at(250)];
    expect([...ring.airX]).toEqual([...sharp.airX]);
    expect([...ring.airY]).toEqual([...sharp.airY]);
    expect(Math.sqrt(squares(sharp.airX))).toBeGreaterThan(0.15);
    for (const { offsetX, errorX, airX } of [sharp, ring]) {
      const off = offsetX.map((offset, i) => offset - errorX[i] - airX[i]);
      // SNR 80: some 0.02 arcsec for the star and 0.06 for the ring, far less than the air moves them.
      expect(Math.sqrt(squares(off))).toBeLessThan(0.1);
    }
  });
});

describe('the call', () => {
  const refused = (options: Partial<TrackOptions>) =>
    expect(trackStar(rig, { ...still, durationS: 60, ...options })).rejects;
  test('a gain outside the stable range is named, with the range', async () => {
    await refused({ loop: { delayS: 0, proportionalGain: 2.2 } }).toThrow(
      /loop\.proportionalGain must be in \(0, 2\.000\) with corrections 0 s after exposures of 2 s every 2 s, got 2\.2; set allowUnstable/,
    );
    await refused({ loop: { delayS: 2, intervalS: 2, proportionalGain: 1.1 } }).toThrow(
      /must be in \(0, 1\.000\).*got 1\.1/,
    );
    await refused({ loop: { proportionalGain: 0 } }).toThrow(/must be in \(0, .*got 0;/);
    await refused({ loop: { delayS: 0, proportionalGain: 1, integralGain: 3 } }).toThrow(
      /loop\.integralGain of 3 makes/,
    );
  });
  test('an unstable loop can be looked at: it swings ever wider until the star leaves the sensor', async () => {
    const { loop, series } = await trackStar(rig, {
      ...still,
      durationS: 400,
      settleS: 0,
      measurementRmsArcsec: 0.1,
      loop: { delayS: 0, proportionalGain: 2.2 },
      allowUnstable: true,
    });
    expect(loop.stable).toBe(false);
    expect(loop.noiseRatio).toBeUndefined();
    const early = Math.max(...series.errorX.slice(0, 20).map(Math.abs));
    const late = Math.max(...series.errorX.slice(180).map(Math.abs));
    expect(late).toBeGreaterThan(20 * early);
    expect(series.errorX.every(Number.isFinite)).toBe(true);
  });
  test('what cannot be is named', async () => {
    await refused({ durationS: -1 }).toThrow(/durationS must be a finite number > 0, got -1/);
    await refused({ runs: 0 }).toThrow(/runs must be a whole number from 1 to 1000000, got 0/);
    await refused({ settleS: -5 }).toThrow(/settleS .*got -5/);
    await refused({ loop: { delayS: -0.1 } }).toThrow(/loop\.delayS .*got -0\.1/);
    await refused({ loop: { intervalS: 1 } }).toThrow(
      /loop\.intervalS must be at least the exposure of 2 s, got 1/,
    );
    await refused({ measurement: 'exact' as 'frames' }).toThrow(
      /measurement must be one of frames, gaussian, got "exact"/,
    );
    await refused({ policy: { duringEvents: 'stop' as 'pause' } }).toThrow(
      /policy\.duringEvents must be one of pause, carry-on/,
    );
    await refused({ picture: { exposureS: 0 } }).toThrow(/picture\.exposureS/);
    await refused({ wind: { rmsArcsec: -1, gustTimeS: 1 } }).toThrow(/wind\.rmsArcsec/);
    await refused({ air: { windMPerS: 0 } }).toThrow(/windMPerS/);
    await refused({ durationS: 1e9 }).toThrow(/at most 20000000 steps/);
  });
  test('tells how far it is, and stops when it is canceled', async () => {
    const seen: number[] = [];
    const control = new AbortController();
    const canceled = trackStar(rig, {
      ...still,
      durationS: 4000,
      runs: 50,
      signal: control.signal,
      onProgress: ({ done, total }) => {
        seen.push(done / total);
        if (seen.length === 7) control.abort(new Error('enough'));
      },
    });
    await expect(canceled).rejects.toThrow('enough');
    expect(seen.length).toBe(7);
    expect([...seen].sort((a, b) => a - b)).toEqual(seen);
    expect(seen[6]).toBeLessThan(0.2);
  });
});
