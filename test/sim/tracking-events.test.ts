import { buildScene, perfectMount, type TrackEvent, type TrackOptions, trackStar } from '@holdfast/sim';
import { describe, expect, test } from 'vitest';
import { calm } from '../../packages/sim/src/motion/wind-gusts.ts';
import { prepareTimeline } from '../../packages/sim/src/tracking/tracking-events.ts';
import { frameStates } from '../../packages/sim/src/tracking/tracking-guide.ts';
import { walkOf } from '../../packages/sim/src/tracking/tracking-run.ts';
import { expectWithin, expectWithinSigmas } from '../expect-within.ts';
import { smallRig } from './small-rig.ts';

const rig = smallRig();

/** Only drift, and everything measured without error. */
const drifting = {
  seed: 1,
  runs: 2,
  durationS: 300,
  mount: { ...perfectMount, driftArcsecPerS: { x: 0.01, y: -0.02 } },
  wind: calm,
  air: null,
  measurement: 'gaussian',
  measurementRmsArcsec: 0,
  stepS: 0.5,
  loop: { delayS: 0.5, proportionalGain: 0.5 },
} satisfies TrackOptions;

const focusRun: TrackEvent = {
  kind: 'focus-run',
  startS: 100,
  shiftsUm: [-100, 0, 100],
  secondsEach: 9,
  moveS: 1,
  endShiftUm: 30,
};
const noStar: TrackEvent = { kind: 'no-star', startS: 100, durationS: 31 };

describe('the events in time', () => {
  test('a focus run goes from position to position and stays at its end', () => {
    const { spans, focusShiftUm, starShare } = prepareTimeline([focusRun], 10, 300);
    expect(spans).toEqual([{ kind: 'focus-run', startS: 100, endS: 131 }]);
    const at: [number, number][] = [
      [0, 10],
      [100, 10],
      [100.5, -45],
      [101, -100],
      [109.9, -100],
      [110.5, -50],
      [115, 0],
      [121, 100],
      [130, 100],
      [130.5, 65],
      [131, 30],
      [299, 30],
    ];
    for (const [timeS, shift] of at) expectWithin(focusShiftUm(timeS), shift, 1e-9, 'rounding');
    expect(starShare(90, 140)).toBe(1);
  });
  test('a filter change takes the star away and brings it back with another focus', () => {
    const { focusShiftUm, starShare, isInEvent } = prepareTimeline(
      [
        { kind: 'no-star', startS: 50, durationS: 2 },
        { kind: 'filter-change', startS: 10, withoutStarS: 4, focusShiftUm: -80 },
      ],
      20,
      100,
    );
    expect([focusShiftUm(9), focusShiftUm(12), focusShiftUm(14), focusShiftUm(51)]).toEqual([
      20, -30, -80, -80,
    ]);
    expect([starShare(8, 10), starShare(9, 11), starShare(10, 14), starShare(13, 15)]).toEqual([
      1, 0.5, 0, 0.5,
    ]);
    expect(starShare(49, 53)).toBe(0.5);
    expect([isInEvent(14, 15, 0), isInEvent(14, 15, 3), isInEvent(52, 54, 0)]).toEqual([false, true, false]);
  });
  test.each<[TrackEvent[], RegExp]>([
    [[{ ...focusRun, startS: -1 }], /events\[0\]\.startS must be a finite number >= 0, got -1/],
    [[{ ...focusRun, secondsEach: 0 }], /events\[0\]\.secondsEach .*got 0/],
    [[{ ...focusRun, shiftsUm: [] }], /events\[0\]\.shiftsUm must be a list of at least one/],
    [[{ ...focusRun, shiftsUm: [0, Number.NaN] }], /events\[0\]\.shiftsUm\[1\] .*got NaN/],
    [[{ ...noStar, durationS: -3 }], /events\[0\]\.durationS .*got -3/],
    [
      [{ kind: 'filter-change', startS: 5, withoutStarS: 0, focusShiftUm: 0 }],
      /events\[0\]\.withoutStarS .*got 0/,
    ],
    [
      [focusRun, { kind: 'no-star', startS: 120, durationS: 5 }],
      /events\[1\] must not start before events\[0\] is over at 131 s, got startS = 120/,
    ],
    [
      [noStar, { kind: 'no-star', startS: 90, durationS: 11 }],
      /events\[0\] must not start before events\[1\] is over at 101 s, got startS = 100/,
    ],
    [[{ ...noStar, durationS: 250 }], /events\[0\] must be over by durationS = 300 s, got an end at 350 s/],
    [[{ kind: 'meteor', startS: 1 } as unknown as TrackEvent], /events\[0\]\.kind must be .*got "meteor"/],
  ])('what cannot be is named: %j', async (events, message) => {
    await expect(trackStar(rig, { ...drifting, events })).rejects.toThrow(message);
  });
});

/** Steady lag of the loop: drift * interval / gain. */
const lag = { x: (0.01 * 2.5) / 0.5, y: (-0.02 * 2.5) / 0.5 };

describe('pause', () => {
  test('makes no correction, drifts away, and comes back to the old set point', async () => {
    const { events, series, withoutCorrectionS } = await trackStar(rig, { ...drifting, events: [focusRun] });
    const [event] = events;
    const states = Array.from(series.frames.state, (state) => frameStates[state]);
    states.forEach((state, i) => {
      const startS = 2.5 * i;
      expect([i, state]).toEqual([i, startS + 2 > 100 && startS < 131 ? 'held' : 'corrected']);
    });
    // The frames at 100 to 130 s: 13 intervals of 2.5 s.
    expect(event.withoutCorrectionS.value).toBe(13 * 2.5);
    expect(withoutCorrectionS.value).toBe(13 * 2.5);
    // From the middle of the last step before 100 s to that of the first after 131 s nothing but drift, and
    // the correction of g lag that the last frame before left to be made at 100 s.
    const before = series.errorX[199];
    const moved = 0.01 * (131.25 - 99.75) - 0.5 * lag.x;
    expectWithin(event.offsetOnResume.meanX.value - before, moved, 1e-6, 'what is left of the start');
    expectWithin(event.offsetOnResume.meanY.value, -0.02 * 31, 0.15, 'lag and one correction');
    expect(event.during.peakY.value).toBeGreaterThan(3 * event.duringWithout.peakY.value);
    expectWithin(event.offsetLeft.meanX.value, 0, 1e-6, 'what is left of the return');
    expectWithin(event.offsetLeft.meanY.value, 0, 1e-6, 'what is left of the return');
    expect(event.recoveryS.value).toBeGreaterThan(0);
    expect(event.recoveryS.value).toBeLessThan(15);
    expect(event.unrecoveredRuns).toBe(0);
  });
  test('on a new set point the star stays where it is found', async () => {
    const policy = { resumeOn: 'new', setPointFrames: 1 } as const;
    const { events, series } = await trackStar(rig, { ...drifting, events: [focusRun], policy });
    // Found first in the frame from 132.5 to 134.5 s.
    const found = series.frames.errorX[53];
    expectWithin(events[0].offsetLeft.meanX.value, found, 1e-6, 'what is left of the start');
    expectWithin(series.errorX[599], found + lag.x, 0.01 * 2.5, 'within one interval');
    expect(frameStates[series.frames.state[53]]).toBe('held');
    expect(frameStates[series.frames.state[54]]).toBe('corrected');
  });
  test('may go on for a while', async () => {
    const events = [focusRun];
    const { series } = await trackStar(rig, { ...drifting, events, policy: { pauseAfterS: 10 } });
    expect(Array.from(series.frames.state.slice(40, 58), (state) => frameStates[state])).toEqual([
      ...Array.from({ length: 17 }, () => 'held'),
      'corrected',
    ]);
  });
});

describe('carry on', () => {
  const policy = { duringEvents: 'carry-on' } as const;
  test('corrects through a focus run as if nothing had happened', async () => {
    const { events, series, seriesWithout } = await trackStar(rig, {
      ...drifting,
      events: [focusRun],
      policy,
    });
    expect([...series.errorX]).toEqual([...(seriesWithout?.errorX ?? [])]);
    expect(events[0].withoutCorrectionS.value).toBe(0);
  });
  test('cannot correct without a star, and finds it again by a search', async () => {
    const { events, series, lostFraction } = await trackStar(rig, { ...drifting, events: [noStar], policy });
    const states = Array.from(series.frames.state, (state) => frameStates[state]);
    // Less than half of its light is in the frame from 130 s on; half of it in none.
    expect(states.indexOf('lost')).toBe(40);
    expect(states.lastIndexOf('lost')).toBe(51);
    expect(states.filter((state) => state === 'lost').length).toBe(12);
    expectWithin(lostFraction.value, 12 / series.frames.state.length, 1e-12, 'a count');
    expect(events[0].withoutCorrectionS.value).toBe(12 * 2.5);
    expectWithin(events[0].offsetLeft.meanY.value, 0, 1e-6, 'what is left of the return');
  });
  test('on drawn frames measures whatever it finds: the noise of an empty frame is hardly ever a star', async () => {
    const { series } = await trackStar(rig, {
      ...drifting,
      measurement: 'frames',
      runs: 1,
      star: { focusShiftUm: 0, snr: 60 },
      events: [noStar],
      policy,
    });
    const during = Array.from(series.frames.state.slice(40, 52), (state) => frameStates[state]);
    expect(during.filter((state) => state === 'lost').length).toBeGreaterThan(9);
    expect(Array.from(series.frames.state.slice(54), (state) => frameStates[state])).not.toContain('lost');
  });
  test('a ring too faint to be found is lost while it is large, and only then', async () => {
    const star = { focusShiftUm: 0, snr: 20 };
    const faint = { ...drifting, measurement: 'frames', estimator: 'centerOfMass', star } as const;
    const events: TrackEvent[] = [{ ...focusRun, shiftsUm: [-1000, 0, 1000] }];
    const { series } = await trackStar(rig, { ...faint, runs: 1, events, policy });
    const lostIn = (from: number, to: number) =>
      series.frames.state.slice(from, to).filter((state) => frameStates[state] === 'lost').length;
    // Rings of 50 px: frames from 101 to 109 s and from 121 to 129 s.
    expect(lostIn(41, 44) + lostIn(49, 52)).toBeGreaterThan(3);
    expect(lostIn(0, 40)).toBeLessThan(3);
    expect(lostIn(54, 120)).toBeLessThan(5);
  });
});

describe('a clipped star walks with its focus', () => {
  const clipped = { focusShiftUm: 0, clipDistance: 0.6 };
  const change: TrackEvent = { kind: 'filter-change', startS: 100, withoutStarS: 5, focusShiftUm: 300 };
  const still = { ...drifting, mount: perfectMount, star: clipped, events: [change] };
  const scene = buildScene(rig, clipped);
  const walk = walkOf({ scene, rig });

  test('as far as its drawn light does', () => {
    for (const clipDistance of [0.9, 0.6, 0.2])
      for (const obstructionRatio of [0, 0.4]) {
        const at = (focusShiftUm: number) =>
          buildScene(rig, { focusShiftUm, clipDistance, obstructionRatio });
        const near = at(50);
        const far = at(350);
        const drawn = (far.lightOffsetPx.x - near.lightOffsetPx.x) * near.arcsecPerPx;
        expectWithin(
          300 * walkOf({ scene: near, rig }).xPerUm,
          drawn,
          1e-3 * Math.abs(drawn),
          'light beyond the stamp',
        );
        expectWithin(far.lightOffsetPx.y, 0, 1e-6, 'the edge is upright');
      }
    expect(300 * walk.xPerUm).toBeGreaterThan(1);
    expect(walkOf({ scene: buildScene(rig, { focusShiftUm: 0 }), rig })).toEqual({ xPerUm: 0, yPerUm: 0 });
  });
  test('and the loop takes the picture the other way, unless it resumes on a new set point', async () => {
    const old = await trackStar(rig, still);
    expectWithin(
      old.events[0].offsetLeft.meanX.value,
      -300 * walk.xPerUm,
      1e-6,
      'what is left of the return',
    );
    expectWithin(old.events[0].offsetLeft.meanY.value, 0, 1e-9, 'nothing walks there');
    const carryOn = await trackStar(rig, { ...still, policy: { duringEvents: 'carry-on' } });
    expectWithin(
      carryOn.events[0].offsetLeft.meanX.value,
      -300 * walk.xPerUm,
      1e-6,
      'what is left of the return',
    );
    const fresh = await trackStar(rig, { ...still, policy: { resumeOn: 'new' } });
    expectWithin(fresh.events[0].offsetLeft.meanX.value, 0, 1e-9, 'the star stays where it is');
    expect(old.walkArcsecPerUm).toEqual({ x: walk.xPerUm, y: walk.yPerUm });
  });
  test('on drawn frames too, within the noise', async () => {
    // By the center of mass: another method has an offset of its own, which changes with the focus, too.
    const star = { ...clipped, snr: 80, windowPx: 31 };
    const drawn = { ...still, measurement: 'frames', estimator: 'centerOfMass', runs: 4, star } as const;
    const { meanX } = (await trackStar(rig, drawn)).events[0].offsetLeft;
    expectWithinSigmas(meanX.value, -300 * walk.xPerUm, Math.sqrt(meanX.standardError ** 2 + 0.01 ** 2), 4);
  });
});

describe('the picture', () => {
  const k2 = 8 * Math.LN2;
  test('a drift of v T makes a star longer by its variance (v T)^2 / 12', async () => {
    const { picture } = await trackStar(rig, {
      ...drifting,
      mount: { ...perfectMount, driftArcsecPerS: { x: 0.012, y: 0.016 } },
      guided: false,
      runs: 1,
      picture: { exposureS: 100, gapS: 10 },
    });
    expect(picture.map(({ startS, endS }) => [startS, endS])).toEqual([
      [0, 100],
      [110, 210],
    ]);
    const pixel = ((4 / 750) * 180 * 3.6) / Math.PI;
    const perfect2 = 2.5 ** 2 + (k2 * pixel ** 2) / 12;
    // 200 points instead of a line: a 200^2-th less.
    const track = (k2 * (0.02 * 100) ** 2 * (1 - 1 / 200 ** 2)) / 12;
    for (const { growthPercent, elongation } of picture) {
      expectWithin(growthPercent.value, 100 * (Math.sqrt(1 + track / 2 / perfect2) - 1), 1e-9, 'rounding');
      expectWithin(elongation.value, Math.sqrt(1 + track / perfect2), 1e-11, 'rounding');
    }
  });
  test('tells what an event adds to the exposure that it falls into, and leaves the others alone', async () => {
    const { picture } = await trackStar(rig, {
      ...drifting,
      events: [focusRun],
      picture: { exposureS: 60, gapS: 2 },
    });
    expect(picture.map(({ startS, isInEvent }) => [startS, isInEvent])).toEqual([
      [0, false],
      [62, true],
      [124, true],
      [186, false],
    ]);
    const [before, first, second, after] = picture.map(
      ({ added }) => added?.growthPercent.value ?? Number.NaN,
    );
    expect(before).toBe(0);
    expect(first).toBeGreaterThan(0.1);
    expect(second).toBeGreaterThan(0.1);
    expectWithin(after, 0, 1e-6, 'what is left of the return');
    for (const { growthPercent, without, added } of picture)
      expectWithin(
        growthPercent.value - (without?.growthPercent.value ?? 0),
        added?.growthPercent.value ?? 1,
        1e-9,
        'paired',
      );
  });
  test('may wait for the end of events', async () => {
    const { picture } = await trackStar(rig, {
      ...drifting,
      events: [focusRun],
      picture: { exposureS: 60, gapS: 2, duringEvents: false },
    });
    expect(picture.map(({ startS, isInEvent }) => [startS, isInEvent])).toEqual([
      [0, false],
      [131, false],
      [193, false],
    ]);
  });
});
