import { buildScene, focusLimit, parseRig, RigError, type SeenRig, startRig } from '@holdfast/sim';
import { describe, expect, test } from 'vitest';
import { leavesOf } from './rig-leaves.ts';

const seen: SeenRig = { apertureMm: 120, focalLengthMm: 840, pixelSizeUm: 2.9, ringDiameterPx: 22 };

describe('a rig from four numbers', () => {
  test('the ring gives the distance from focus: 22 px x 2.9 µm x f/7 = 446.6 µm, by hand', () => {
    const { rig, absFocusShiftUm } = startRig(seen);
    expect(absFocusShiftUm).toBeCloseTo(446.6, 9);
    expect(rig.guideFocusShiftUm).toBe(absFocusShiftUm);
    expect(startRig({ ...seen, binning: 2 }).absFocusShiftUm).toBeCloseTo(893.2, 9);
  });
  test('the scene of that rig shows the ring that was seen', () => {
    for (const binning of [1, 2]) {
      const { rig, absFocusShiftUm } = startRig({ ...seen, binning });
      expect(buildScene(rig, { focusShiftUm: absFocusShiftUm }).outerDiameterPx).toBeCloseTo(22, 9);
    }
  });
  test('every number of the rig is given or a stated assumption', () => {
    const { rig, assumptions } = startRig(seen);
    const given = [
      'name',
      'telescope.apertureMm',
      'telescope.focalLengthMm',
      'guideCamera.pixelSizeUm',
      'guideCamera.binning',
      'guideFocusShiftUm',
      'filters.0.name',
      'filters.0.focusShiftUm',
    ];
    // What other questions read: how the star is drawn, what the loop offers, how the mount moves.
    const aside = /^(starModel|tracking\.(correctionDelayS|available\.\d|mount\..*))$/;
    const leaves = leavesOf(rig)
      .map(({ field }) => field)
      .filter((field) => !aside.test(field));
    expect(leaves.sort()).toEqual([...given, ...assumptions.map(({ field }) => field)].sort());
  });
  test('an assumption is what the schema itself takes where nothing is said', () => {
    const { rig, assumptions } = startRig(seen);
    const least = parseRig({
      name: 'least',
      telescope: { apertureMm: 120, focalLengthMm: 840, obstructionRatio: 0 },
      guideCamera: { pixelSizeUm: 2.9, exposureS: 2, readNoiseE: 3 },
      mainCamera: { pixelSizeUm: 3.76 },
      sky: { seeingFwhmArcsec: 2.5 },
      guideStar: { magnitude: 11 },
      guideFocusShiftUm: rig.guideFocusShiftUm,
      filters: rig.filters,
      tracking: { windowPx: 33 },
    });
    expect({ ...rig, name: 'least' }).toEqual(least);
    const valueAt = new Map(leavesOf(rig).map(({ field, value }) => [field, value]));
    for (const { field, value } of assumptions) expect([field, valueAt.get(field)]).toEqual([field, value]);
  });
  test('the limit does not depend on the ring that is asked about', async () => {
    const limits = [5, 40].map((ringDiameterPx) =>
      focusLimit(startRig({ ...seen, ringDiameterPx, magnitude: 13 }).rig, { seed: 1, trials: 64 }),
    );
    const [small, large] = await Promise.all(limits);
    expect(small.limitUm).toEqual(large.limitUm);
  });
  test('what is known is taken, and no longer assumed', () => {
    const { rig, assumptions } = startRig({ ...seen, known: { 'guideCamera.readNoiseE': 1.5 } });
    expect(rig.guideCamera.readNoiseE).toBe(1.5);
    expect(assumptions.map(({ field }) => field)).not.toContain('guideCamera.readNoiseE');
  });
  test('an SNR gives the magnitude whose ring has it, to 0.01 mag', () => {
    for (const snr of [8, 30, 300]) {
      const { rig, absFocusShiftUm, assumptions } = startRig({ ...seen, snr });
      expect(buildScene(rig, { focusShiftUm: absFocusShiftUm }).snr / snr).toBeCloseTo(1, 1.9);
      expect(assumptions.map(({ field }) => field)).not.toContain('guideStar.magnitude');
    }
  });
  test('every assumption can take its other values', () => {
    for (const { field, others = [] } of startRig(seen).assumptions)
      for (const value of others)
        expect(() => startRig({ ...seen, known: { [field]: value } }), field).not.toThrow();
  });
  test.each<[Partial<SeenRig>, RegExp]>([
    [
      { apertureMm: 840, focalLengthMm: 120 },
      /focalLengthMm .* got f\/0\.14: aperture and focal length swapped\?/,
    ],
    [{ apertureMm: 0 }, /apertureMm must be > 0 .* got 0/],
    [{ apertureMm: '120' as unknown as number }, /apertureMm must be/],
    [{ ringDiameterPx: Number.NaN }, /ringDiameterPx must be from 0 to 300, got NaN/],
    [{ binning: 1.5 }, /binning must be a whole number from 1 to 8, got 1\.5/],
    [{ magnitude: 11, snr: 30 }, /snr must be left out/],
    [{ snr: 0 }, /snr must be > 0/],
  ])('%o is refused', (wrong, message) => {
    expect(() => startRig({ ...seen, ...wrong })).toThrow(message);
    expect(() => startRig({ ...seen, ...wrong })).toThrow(RangeError);
  });
  test('a field that no rig has is refused with the nearest one', () => {
    const wrong = () => startRig({ ...seen, known: { 'guideCamera.readNoise': 1 } });
    expect(wrong).toThrow(RigError);
    expect(wrong).toThrow('did you mean readNoiseE?');
  });
});
