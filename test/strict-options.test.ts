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

const isPlain = (value: unknown): value is Record<string, unknown> =>
  typeof value === 'object' && value !== null && Object.getPrototypeOf(value) === Object.prototype;

/**
 * Fields of records whose every field must be there: a wrong word leaves one out, and that is refused. What
 * another function returned may be given as one: an image or scene as a size, a found star as a position, an
 * error of trials as the numbers of an axis, a prepared star as a template, a star of a catalog with its name.
 */
const wholeRecords = [
  ...['width,height', 'x,y', 'value,standardError', 'noiseArcsec,response'],
  ...['width,height,renderInto', 'raDeg,decDeg,magnitude'],
];

/** The objects in an argument that hold options, at any depth. */
function optionObjects(value: unknown, path: readonly (string | number)[]): (readonly (string | number)[])[] {
  if (Array.isArray(value)) return value.flatMap((item, k) => optionObjects(item, [...path, k]));
  if (!isPlain(value)) return [];
  const own = wholeRecords.includes(Object.keys(value).join()) ? [] : [path];
  return own.concat(Object.entries(value).flatMap(([key, item]) => optionObjects(item, [...path, key])));
}

/** The same arguments with one more word in the object at a path. */
function withUnheardOf(value: unknown, [key, ...rest]: readonly (string | number)[]): unknown {
  if (key === undefined) return { ...(value as object), unheardOf: 1 };
  if (Array.isArray(value)) return value.map((item, k) => (k === key ? withUnheardOf(item, rest) : item));
  const object = value as Record<string, unknown>;
  return { ...object, [key]: withUnheardOf(object[key], rest) };
}

test('no function takes a word that it does not read', () => {
  const taken = callCases.flatMap(({ name, args, call }) =>
    optionObjects(args(), []).flatMap((path) => {
      try {
        call(...(withUnheardOf(args(), path) as never[]));
      } catch (error) {
        if (/unheardOf/.test(String(error))) return [];
        return [`${name} ${path.join('.')}: ${error}`];
      }
      return [`${name} ${path.join('.')}`];
    }),
  );
  expect(callCases.length).toBeGreaterThan(60);
  expect(taken).toEqual([]);
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
