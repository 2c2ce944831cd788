/** A name that a function does not read is refused in every public function that has options to leave out. */
import {
  type Camera,
  defaultCamera,
  type ImageSize,
  offAxisAberrations,
  pixelNoiseE,
  prepareStar,
  type StarShape,
} from '@holdfast/psf';
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
import { type CallCase, callCases } from './soak/call-cases.ts';

const isPlain = (value: unknown): value is Record<string, unknown> =>
  typeof value === 'object' && value !== null && Object.getPrototypeOf(value) === Object.prototype;

/**
 * Fields of records whose every field must be there: a wrong word leaves one out, and that is refused. What
 * another function returned may be given as one: an image or scene as a size, a found star as a position, an
 * error of trials as the numbers of an axis, a prepared star as a template. So may a star of a catalog.
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

/** What the calls of `callCases` leave out. */
const star = { kind: 'gaussian', fwhmPx: 3 } as const;
const waves = { pupil: { obstructionRatio: 0.3 }, wavefront: {}, fNumber: 6, pixelSizeUm: 4 } as const;
const shapes: readonly StarShape[] = [
  star,
  { kind: 'moffat', fwhmPx: 3, beta: 3 },
  { kind: 'annulus', outerDiameterPx: 9, obstructionRatio: 0.3, blurFwhmPx: 2.5 },
  { kind: 'diffraction', ...waves, wavelengthNm: [{ wavelengthNm: 550, weight: 1, focusBehindUm: 5 }] },
  { kind: 'rays', ...waves, blurFwhmPx: 2 },
  { kind: 'table', columns: 2, light: [1, 2, 3, 4] },
  { kind: 'own', name: 'dot', prepare: () => ({ renderInto: () => {} }) },
  { kind: 'trailed', shape: star, motion: { lengthPx: 4, angleDeg: 20 } },
  { kind: 'trailed', shape: star, motion: [{ dxPx: 0, dyPx: 0, weight: 1 }] },
  { kind: 'group', star, neighbors: [{ dxPx: 4, dyPx: 2, magnitudeDifference: 1 }] },
];
const richCamera: Camera = {
  ...defaultCamera,
  readNoiseTail: { fraction: 0.1, noiseRatio: 3 },
  hotPixels: { fraction: 0.01, meanEPerS: 2 },
  cosmicRays: { ratePerCm2PerMin: 1, pixelSizeUm: 4 },
  nonLinearity: { kneeFraction: 0.8, lossAtFullWell: 0.05 },
  binning: { factor: 1, when: 'before-read' },
};
const corrected = { design: 'corrected', apertureMm: 200, focalLengthMm: 800, offAxisMm: 9, angleDeg: 0 };
const moreCalls: readonly CallCase[] = [
  ...shapes.map((shape) => ({
    name: `prepareStar ${shape.kind}`,
    args: () => [shape, { width: 16, height: 15 }],
    call: (of: StarShape, size: ImageSize) => prepareStar(of, size),
  })),
  { name: 'pixelNoiseE', args: () => [richCamera], call: pixelNoiseE },
  {
    name: 'offAxisAberrations',
    args: () => [{ ...corrected, known: { offAxisMm: 10, sagittalComaUm: 3 } }],
    call: offAxisAberrations,
  },
];

/** The same arguments with one more word in the object at a path. */
function withUnheardOf(value: unknown, [key, ...rest]: readonly (string | number)[]): unknown {
  if (key === undefined) return { ...(value as object), unheardOf: 1 };
  if (Array.isArray(value)) return value.map((item, k) => (k === key ? withUnheardOf(item, rest) : item));
  const object = value as Record<string, unknown>;
  return { ...object, [key]: withUnheardOf(object[key], rest) };
}

test('no function takes a word that it does not read', () => {
  const taken = [...callCases, ...moreCalls].flatMap(({ name, args, call }) =>
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
