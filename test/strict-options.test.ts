/** A name that a function does not read is refused in every public function that has options to leave out. */
import {
  adviseNight,
  adviseRefocus,
  adviseStar,
  bestGuideFocus,
  focusLimit,
  guideStarOdds,
  measureSequence,
  type PickoffOptions,
  pickoffClearance,
  readFitsFile,
  readFrameFile,
  sweepCells,
  trackStar,
} from '@holdfast/sim';
import { describe, expect, test } from 'vitest';
import { smallRig } from './sim/small-rig.ts';
import { callCases } from './soak/call-cases.ts';

/**
 * These read fields that must all be there: a wrong name leaves one out, and that is refused. A rig's
 * telescope, a scene or a measured background may be given to them as it is.
 */
const readsNeeded = [
  ...['airyFwhmUm', 'comaCentroidOffset', 'diffractionSampling', 'fNumber', 'focusShiftFromRing'],
  ...['lightCentroid', 'moffatAlpha', 'moffatEncircledEnergy', 'moffatNoiseEquivalentArea', 'nollIndex'],
  ...['plateScaleArcsecPerPx', 'prepareExposure', 'prepareStar', 'raySpots', 'shortExposure', 'strehlRatio'],
  ...['wavefrontRmsNm', 'backgroundAt', 'edgeStar', 'rigNotices'],
];

const isPlain = (value: unknown): value is object =>
  typeof value === 'object' && value !== null && Object.getPrototypeOf(value) === Object.prototype;

test('no function takes a word that it does not read', () => {
  const taken = callCases.filter(({ args, call }) => {
    const given = args();
    const at = given.findLastIndex(isPlain);
    if (at < 0) return false;
    given[at] = { ...(given[at] as object), unheardOf: 1 };
    try {
      call(...(given as never[]));
      return true;
    } catch (error) {
      return !/unheardOf/.test(String(error));
    }
  });
  expect(callCases.length).toBeGreaterThan(60);
  expect(taken.map(({ name }) => name).filter((name) => !readsNeeded.includes(name))).toEqual([]);
});

describe('what takes long refuses it before the work', () => {
  const rig = smallRig();
  const bytes = new Uint8Array(2880);
  const calls: Readonly<Record<string, (more: object) => unknown>> = {
    adviseRefocus: (more) => adviseRefocus(rig, { seed: 1, ...more }),
    adviseStar: (more) => adviseStar(rig, { focusShiftUm: 0 }, { seed: 1, ...more }),
    adviseNight: (more) => adviseNight(rig, { seed: 1, ...more }),
    bestGuideFocus: (more) => bestGuideFocus(rig, { seed: 1, ...more }),
    focusLimit: (more) => focusLimit(rig, { seed: 1, ...more }),
    guideStarOdds: async (more) => guideStarOdds(rig, { seed: 1, galacticLatitudeDeg: 40, ...more }),
    measureSequence: (more) =>
      measureSequence([], { measure: { gainEPerAdu: 1, readNoiseE: 2 }, ...more } as never),
    pickoffClearance: async (more) => pickoffClearance(more as PickoffOptions),
    readFitsFile: (more) => readFitsFile(bytes, more),
    readFrameFile: (more) => readFrameFile(bytes, more),
    sweepCells: async (more) => sweepCells(rig, { seed: 1, ...more }),
    trackStar: (more) => trackStar(rig, { seed: 1, durationS: 60, ...more }),
  };
  test.each(Object.entries(calls))('%s', async (_, call) => {
    await expect(call({ sead: 1 })).rejects.toThrow(/\.sead is not known/);
  });
});
