/** Simulated sequences, whose motion, noise and focus are known. */
import { createImage, defaultCamera, exposeFrame, prepareStar, randomStream } from '@holdfast/psf';
import {
  calibrateFocuser,
  estimatorNames,
  focuserPoints,
  measureSequence,
  type Progress,
  type SequenceFrame,
  type SequenceOptions,
  writeFits,
} from '@holdfast/sim';
import { beforeAll, describe, expect, test } from 'vitest';
import { expectWithin, expectWithinSigmas } from '../../expect-within.ts';

const size = { width: 132, height: 108 };
const camera = { ...defaultCamera, readNoiseE: 2, fullWellE: 60_000, bitDepth: 16 };
const field = [
  { x: 32.2, y: 34.7, flux: 60_000 },
  { x: 95.4, y: 40.1, flux: 35_000 },
  { x: 60.7, y: 80.2, flux: 20_000 },
];

interface Moment {
  readonly dx: number;
  readonly dy: number;
  readonly ringPx: number;
  /** Factor of the flux; 0 = closed shutter. */
  readonly light?: number;
}

function frameOf({ dx, dy, ringPx, light = 1 }: Moment, k: number, stars = field): SequenceFrame {
  const expected = createImage(size.width, size.height);
  const one = new Float64Array(expected.data.length);
  const shape = {
    kind: 'annulus',
    outerDiameterPx: ringPx,
    obstructionRatio: 0.35,
    blurFwhmPx: 2.6,
  } as const;
  const plan = prepareStar(shape, size);
  for (const { x, y, flux } of stars) {
    plan.renderInto(one, x + dx, y + dy, flux * light);
    for (let i = 0; i < one.length; i++) expected.data[i] += one[i]!;
  }
  for (let i = 0; i < one.length; i++) expected.data[i] += 30;
  const frame = exposeFrame(expected, camera, randomStream('sequence', k));
  for (let i = 0; i < one.length; i++) frame.data[i] += 100;
  const date = new Date(Date.UTC(2024, 2, 1, 22, 0, 2 * k)).toISOString().slice(0, -1);
  const header = [
    { keyword: 'DATE-OBS', value: date },
    { keyword: 'EXPTIME', value: 1 },
  ];
  return { name: `frame ${k}`, bytes: writeFits(frame, { bitpix: 16, header }) };
}

const options: SequenceOptions = {
  measure: { gainEPerAdu: 1, readNoiseE: 2, offsetAdu: 100, fNumber: 5, pixelSizeUm: 3.75 },
};

/** Random walk with a drift of 0.04 px per frame along x; the ring grows by 0.05 px per frame. */
function moments(count: number): Moment[] {
  const random = randomStream('walk');
  let [dx, dy] = [0, 0];
  return Array.from({ length: count }, (_, k) => {
    dx += 0.25 * random.normal() + 0.04;
    dy += 0.25 * random.normal();
    return { dx, dy, ringPx: 12 + 0.05 * k };
  });
}

const rmsAboutMean = (values: readonly number[]) => {
  const mean = values.reduce((a, b) => a + b, 0) / values.length;
  return Math.sqrt(values.reduce((sum, v) => sum + (v - mean) ** 2, 0) / values.length);
};

describe('thirty frames of three rings', () => {
  const truth = moments(30);
  let result: Awaited<ReturnType<typeof measureSequence>>;
  beforeAll(async () => {
    result = await measureSequence(
      truth.map((moment, k) => frameOf(moment, k)),
      options,
    );
  });
  test('all are measured, found where they were last', () => {
    expect(result.failed).toEqual([]);
    expect(result.frames.map(({ starsSeen }) => starsSeen)).toEqual(truth.map(() => 3));
    expect(result.frames.filter(({ searched }) => searched)).toHaveLength(1);
    expect(result.order).toEqual({ timed: true, intervalS: 2, outOfOrder: 0, sameTime: 0, gaps: [] });
    expect(Object.keys(result.split).sort()).toEqual([...estimatorNames].sort());
    expect(result.bytes).toBe(30 * (2880 + 2880 * Math.ceil((132 * 108 * 2) / 2880)));
    expectWithin(result.megabytesPerS * result.seconds * 1e6, result.bytes, 1, 'its definition');
  });

  test.each(estimatorNames)('%s: noise and motion come apart as they were put together', (name) => {
    const { stars, motion, path, motionErrorPx, perStated } = result.split[name]!;
    expectWithinSigmas(perStated!.value, 1, perStated!.standardError, 4);
    // two axes of 2 * 29 differences: 1 / sqrt(2 * 116)
    expectWithin(perStated!.standardError, 0.066, 0.02, 'degrees of freedom');
    expect(path).toHaveLength(30);
    for (const [axis, of] of [
      ['x', (moment: Moment) => moment.dx],
      ['y', (moment: Moment) => moment.dy],
    ] as const) {
      const rms = rmsAboutMean(truth.map(of));
      expectWithinSigmas(motion[axis].rmsPx.value, rms, motion[axis].rmsPx.standardError, 4);
      expect(motion[axis].rmsPx.standardError).toBeLessThan(0.02 * rms);
      const mean = truth.reduce((sum, moment) => sum + of(moment), 0) / 30;
      const off = path.map((at) => at[axis] - (of(truth[at.frame]!) - mean));
      // the error of the path itself, by its own noise: 30 values scatter by 1 / sqrt(60)
      expectWithin(rmsAboutMean(off) / motionErrorPx, 1, 0.5, 'rms of the path over its stated error');
    }
    for (const [i, star] of stars.entries()) {
      const points = result.stars[i]!.positions[name];
      const wrong = points.flatMap(({ frame, x, y }) => [[x - truth[frame]!.dx, y - truth[frame]!.dy]]);
      const drawn = Math.sqrt(
        (rmsAboutMean(wrong.map((at) => at[0]!)) ** 2 + rmsAboutMean(wrong.map((at) => at[1]!)) ** 2) / 2,
      );
      expect(star!.noiseFrom).toBe('differences');
      // of these very positions: what is not known is only how the differences share it out
      expectWithinSigmas(star!.noisePx.value, drawn, star!.noisePx.standardError, 3.5);
      expectWithin(star!.perStated.value, 1, 4 * star!.perStated.standardError, 'stated errors hold');
      expect(star!.noisePx.standardError).toBeLessThan(0.5 * star!.statedPx);
      expectWithin(star!.outliers, 0, 1, 'six sigma');
      // scatter is motion and noise together, along both axes
      const whole = (motion.x.rmsPx.value ** 2 + motion.y.rmsPx.value ** 2) / 2 + star!.noisePx.value ** 2;
      expectWithin(
        star!.scatterPx.value / Math.sqrt((whole * 30) / 29),
        1,
        0.02,
        'noise and motion of 30 frames correlate',
      );
    }
  });

  test('drift: the slope of the path that was walked', () => {
    const { motion } = result.split.templateFit!;
    const slope = (of: (moment: Moment) => number) => {
      const sum = truth.reduce((total, moment, k) => total + (k - 14.5) * of(moment), 0);
      return sum / ((30 * (900 - 1)) / 12) / 2;
    };
    // px/s; the template fit's noise of 0.01 px over 60 s
    expectWithin(
      motion.x.drift.value,
      slope(({ dx }) => dx),
      2e-4,
      'noise of the common motion',
    );
    expectWithin(
      motion.y.drift.value,
      slope(({ dy }) => dy),
      2e-4,
      'noise of the common motion',
    );
    expect(motion.x.wanderPx.value).toBeLessThan(motion.x.rmsPx.value);
  });

  test('the focus against time', () => {
    const { focus } = result;
    // 0.05 px of 3.75 um in 2 s at F/5: dz = D sqrt(99) / 2
    const perFrame = (0.05 * 3.75 * Math.sqrt(99)) / 2;
    expect(focus!.frames).toBe(30);
    expectWithinSigmas(focus!.umPerFrame.value, perFrame, focus!.umPerFrame.standardError, 4);
    expectWithinSigmas(focus!.umPerHour!.value, perFrame * 1800, focus!.umPerHour!.standardError, 4);
    expect(focus!.umPerFrame.standardError).toBeLessThan(0.1 * perFrame);
    const middle = ((12 + 0.05 * 14.5) * 3.75 * Math.sqrt(99)) / 2;
    expectWithinSigmas(focus!.absFocusShiftUm.value, middle, focus!.absFocusShiftUm.standardError, 4);
  });
});

describe('frames that do not come as they should', () => {
  test('in any order, some missing, some unusable: measured in the order of time', async () => {
    const still = { dx: 0, dy: 0, ringPx: 12 };
    const whole = [0, 1, 2, 3, 4, 5, 6, 7].map((k) => frameOf({ ...still, dx: 0.1 * k }, k));
    const pick = (k: number) => whole[k]!;
    const broken = { name: 'broken', bytes: (pick(2).bytes as Uint8Array).subarray(0, 5000) };
    const dark = frameOf({ ...still, light: 0 }, 9);
    const small = { name: 'small', bytes: writeFits(createImage(20, 30), { bitpix: 16 }) };
    const given = [pick(0), pick(1), broken, pick(6), dark, pick(3), small, pick(7)];
    const { frames, failed, order, stars } = await measureSequence(given, options);
    expect(frames.map(({ name }) => name)).toEqual([0, 1, 3, 6, 7].map((k) => `frame ${k}`));
    expect(frames.map(({ time }) => time)).toEqual([0, 2, 6, 12, 14]);
    expect(failed.map(({ name, reason }) => [name, reason])).toEqual([
      ['broken', 'truncated'],
      ['frame 9', 'no-star'],
      ['small', 'other-size'],
    ]);
    expect(failed[2]!.message).toBe('20 x 30 px, the frames before have 132 x 108');
    expect(order).toEqual({
      timed: true,
      intervalS: 2,
      outOfOrder: 1,
      sameTime: 0,
      gaps: [
        { after: 1, missing: 1 },
        { after: 2, missing: 2 },
      ],
    });
    for (const { frame, x } of stars[0]!.positions.templateFit)
      expectWithin(x, 32.2 + 0.1 * [0, 1, 3, 6, 7][frame]!, 0.06, '4 sigma');
  });

  test('a jump: the whole frame is searched, and the same stars go on', async () => {
    const at = [0, 0, 21, 21, 0].map((dx, k) => ({ dx, dy: -dx / 3, ringPx: 12 + 0 * k }));
    const { frames, stars } = await measureSequence(at.map(frameOfMoment), { ...options, searchPx: 6 });
    expect(frames.map(({ searched }) => searched)).toEqual([true, false, true, false, true]);
    for (const [i, star] of stars.entries())
      for (const { frame, x, y } of star.positions.centerOfMass) {
        expectWithin(x, field[i]!.x + at[frame]!.dx, 0.2, '4 sigma of the faintest');
        expectWithin(y, field[i]!.y + at[frame]!.dy, 0.2, '4 sigma of the faintest');
      }
  });

  test('a star that leaves the frame is missing there, the others go on', async () => {
    const at = [0, -12, -24, -12, 0].map((dx) => ({ dx, dy: 0, ringPx: 12 }));
    const { frames, stars } = await measureSequence(at.map(frameOfMoment), { ...options, searchPx: 16 });
    expect(frames).toHaveLength(5);
    expect(stars[1]!.framesSeen).toBe(5);
    expect(stars[1]!.positions.centerOfMass).toHaveLength(5);
    // centered 8 px from the edge with a ring of 12 px: clipped
    expect(stars[0]!.positions.templateFit.map(({ frame }) => frame)).toContain(4);
  });

  test('a focus run: rings that grow and shrink from frame to frame, and its calibration', async () => {
    // 0.125 px of diameter a step about 2000
    const positions = [1760, 1840, 1920, 2000, 2080, 2160, 2240];
    const given = positions.map((focuserPosition, k) => ({
      ...frameOf({ dx: 0.5 * k, dy: 0, ringPx: 0.125 * Math.abs(focuserPosition - 2000) }, k),
      focuserPosition,
    }));
    const { frames, stars } = await measureSequence(given, options);
    expect(frames.map(({ starsSeen }) => starsSeen)).toEqual(positions.map(() => 3));
    for (const { frame, x } of stars[0]!.positions.centerOfMass)
      expectWithin(x, field[0]!.x + 0.5 * frame, 0.2, '4 sigma of the largest ring');
    // each star is compared with the ring of its own frame
    for (const [i, star] of stars.entries())
      for (const { frame, x, y, sigmaX, sigmaY } of star.positions.templateFit) {
        expectWithin(x, field[i]!.x + 0.5 * frame, 4.5 * sigmaX, '42 deviations');
        expectWithin(y, field[i]!.y, 4.5 * sigmaY, '42 deviations');
      }
    const points = focuserPoints(frames);
    expect(points.map(({ position }) => position)).toEqual(positions.filter((position) => position !== 2000));
    const found = calibrateFocuser(points, { pixelSizeUm: 3.75, fNumber: 5 });
    if (!found.ok) throw new Error(found.message);
    expectWithinSigmas(found.pxPerStep.value, 0.125, found.pxPerStep.standardError, 4);
    expectWithinSigmas(found.zeroFocusPosition.value, 2000, found.zeroFocusPosition.standardError, 4);
    expectWithinSigmas(found.obstructionRatio!.value, 0.35, found.obstructionRatio!.standardError, 4);
  });

  test('no times: frame by frame, as they came', async () => {
    const untimed = [0, 1, 2, 3].map((k) => {
      const { name, bytes } = frameOf({ dx: 0.2 * k, dy: 0, ringPx: 12 }, k);
      const text = new TextDecoder('latin1').decode(bytes as Uint8Array).replace('DATE-OBS', 'DATE-XXX');
      return { name, bytes: Uint8Array.from(text, (letter) => letter.charCodeAt(0)) };
    });
    const { order, frames, split, focus } = await measureSequence(untimed, options);
    expect(order.timed).toBe(false);
    expect(frames.map(({ time }) => time)).toEqual([0, 1, 2, 3]);
    expectWithin(split.templateFit!.motion.x.drift.value, 0.2, 0.02, 'px per frame');
    expect(focus!.umPerHour).toBeUndefined();
    const timed = await measureSequence(
      untimed.map((frame, k) => ({ ...frame, timeS: 100 + 4 * k })),
      options,
    );
    expectWithin(timed.split.templateFit!.motion.x.drift.value, 0.05, 0.005, 'px per second');
  });
});

test('two stars share their difference; of one star the errors are only stated', async () => {
  const at = moments(6);
  const run = (chosen: typeof field) =>
    measureSequence(
      at.map((moment, k) => frameOf(moment, k, chosen)),
      options,
    );
  const two = (await run(field.slice(0, 2))).split.centerOfMass!;
  expect(two.stars.map((star) => star!.noiseFrom)).toEqual(['one difference', 'one difference']);
  expectWithin(
    two.stars[0]!.perStated.value,
    two.stars[1]!.perStated.value,
    0.01,
    'shared as stated, axis by axis',
  );
  expectWithin(
    two.stars[0]!.perStated.value,
    1,
    4 * two.stars[0]!.perStated.standardError,
    '10 degrees of freedom',
  );
  const one = (await run(field.slice(0, 1))).split.centerOfMass!;
  expect(one.stars[0]).toMatchObject({
    noiseFrom: 'stated errors',
    perStated: { value: 1, standardError: 0 },
  });
  expectWithinSigmas(
    one.motion.x.rmsPx.value,
    rmsAboutMean(at.map(({ dx }) => dx)),
    one.motion.x.rmsPx.standardError,
    4,
  );
});

test('progress is told, with the pace; cancelling ends it between two frames', async () => {
  const told: Progress[] = [];
  const control = new AbortController();
  async function* frames(): AsyncGenerator<SequenceFrame> {
    for (let k = 0; ; k++) yield frameOf({ dx: 0, dy: 0, ringPx: 12 }, k);
  }
  await expect(
    measureSequence(frames(), {
      ...options,
      total: 5,
      signal: control.signal,
      onProgress: (progress) => {
        told.push(progress);
        if (progress.done === 2) control.abort(new Error('enough'));
      },
    }),
  ).rejects.toThrow('enough');
  expect(told.map(({ done, total }) => [done, total])).toEqual([
    [1, 5],
    [2, 5],
  ]);
  expect(told[0]!.task).toMatch(/^frame 0, \d+\.\d MB\/s$/);
});

test('nothing to measure: no frames, no stars, no split', async () => {
  const empty = await measureSequence([], options);
  expect(empty).toMatchObject({ frames: [], failed: [], stars: [], split: {}, focus: undefined, bytes: 0 });
  const dark = await measureSequence([frameOf({ dx: 0, dy: 0, ringPx: 12, light: 0 }, 1)], options);
  expect(dark.failed).toHaveLength(1);
});

test('a bad call throws', async () => {
  for (const [wrong, message] of [
    [{ maxStars: 0 }, 'maxStars must be a whole number >= 1, got 0'],
    [{ refitEvery: 1.5 }, 'refitEvery must be a whole number >= 1, got 1.5'],
    [{ searchPx: 0 }, 'searchPx must be a finite number >= 1, got 0'],
  ] as const)
    await expect(measureSequence([], { ...options, ...wrong })).rejects.toThrow(message);
});

const frameOfMoment = (moment: Moment, k: number): SequenceFrame => frameOf(moment, k);
