import { glassIndex } from '@holdfast/psf';
import {
  adviseRefocus,
  buildScene,
  focusLimit,
  guideStarLimit,
  parseRig,
  type Rig,
  RigError,
  thermalDrift,
} from '@holdfast/sim';
import { describe, expect, test } from 'vitest';
import { rigThrough } from '../../packages/sim/src/rig/guide-light.ts';
import { expectWithin } from '../expect-within.ts';
import { smallRig } from './small-rig.ts';

const shiftsOf = ({ filters }: Rig) => filters.map(({ focusShiftUm }) => focusShiftUm);

describe('the focus shift of a filter', () => {
  test('in µm is taken as it is', () => {
    const filters = [
      { name: 'Red', focusShiftUm: 12.5 },
      { name: 'Blue', focusShiftUm: -60 },
    ];
    expect(shiftsOf(smallRig({ filters }))).toEqual([12.5, -60]);
  });
  test('in steps counts from the reference filter, in positions of the focuser or differences alike', () => {
    const rig = (steps: readonly number[], more: object = {}) =>
      smallRig({
        focuser: { umPerStep: 2.5 },
        filters: ['Luminance', 'Red', 'H-alpha'].map((name, i) => ({ name, focuserSteps: steps[i] })),
        ...more,
      });
    expect(shiftsOf(rig([0, 10, -40]))).toEqual([0, 25, -100]);
    expect(shiftsOf(rig([24300, 24310, 24260]))).toEqual([0, 25, -100]);
    expect(shiftsOf(rig([24300, 24310, 24260], { referenceFilter: 'Red' }))).toEqual([-25, 0, -125]);
    // A counter that falls as the camera moves away from the telescope.
    expect(shiftsOf(rig([24300, 24310, 24260], { focuser: { umPerStep: -2.5 } }))).toEqual([0, -25, 100]);
  });
  test('by glass is the difference of t (1 - 1/n): thicker glass takes the guide camera beyond its focus', () => {
    const rig = smallRig({
      filters: [
        { name: 'Luminance', glass: { thicknessMm: 2, index: 1.5168 } },
        { name: 'H-alpha', glass: { thicknessMm: 3, index: 1.5168 } },
        { name: 'O III', glass: { thicknessMm: 2, material: 'fused-silica' } },
        { name: 'No filter', glass: { thicknessMm: 0 } },
      ],
    });
    const [luminance, hAlpha, oIII, none] = shiftsOf(rig);
    expect(luminance).toBe(0);
    // Textbook t (1 - 1/n): 2 mm and 3 mm of n = 1.5168 move the focus by 681.435 and 1022.152 um.
    expectWithin(hAlpha, 1022.152 - 681.435, 2e-3, 'digits printed');
    expectWithin(none, -681.435, 1e-3, 'digits printed');
    const silica = 2000 * (1 - 1 / glassIndex('fused-silica', rig.guideCamera.wavelengthNm));
    expectWithin(oIII, silica - 681.435, 1e-3, 'digits printed');
  });
  test('ways may differ from filter to filter; a reference in µm keeps its own shift', () => {
    const rig = smallRig({
      focuser: { umPerStep: 2 },
      filters: [
        { name: 'Luminance', focusShiftUm: 30 },
        { name: 'Red', focuserSteps: 5 },
      ],
    });
    expect(shiftsOf(rig)).toEqual([30, 40]);
  });
  test('is settled by reading: a rig that was read can be read again', () => {
    const rig = smallRig({
      focuser: { umPerStep: 2 },
      filters: [
        { name: 'Luminance', focuserSteps: 100, minutes: 60 },
        { name: 'Red', focuserSteps: 90, minutes: 20 },
      ],
      temperature: { tubeExpansionPerK: 23.6e-6, nightDropK: 8 },
    });
    expect(parseRig(JSON.stringify(rig))).toEqual(rig);
    expect(rig.filters[1]).toEqual({ name: 'Red', focusShiftUm: -20, minutes: 20 });
  });
});

describe('filters that cannot be used', () => {
  const faultsOf = (changes: Record<string, unknown>): string[] => {
    try {
      smallRig(changes);
    } catch (error) {
      if (error instanceof RigError)
        return error.faults.map(({ field, got, allowed }) => `${field}|${got}|${allowed}`);
      throw error;
    }
    return [];
  };
  test.each([
    [
      'no way of giving the shift',
      [{ name: 'Red' }],
      'filters[0].focusShiftUm|nothing|given (or focuserSteps',
    ],
    [
      'two ways',
      [{ name: 'Red', focusShiftUm: 10, glass: { thicknessMm: 2, index: 1.5 } }],
      'filters[0].glass|{"thicknessMm":2,"index":1.5}|left out, since focusShiftUm gives the shift',
    ],
    [
      'steps without a focuser',
      [{ name: 'Red', focuserSteps: 10 }],
      'focuser|nothing|given, since filters[0] is given in steps',
    ],
    [
      'glass without index',
      [{ name: 'Red', glass: { thicknessMm: 2 } }],
      'filters[0].glass.index|nothing|given (or material)',
    ],
    [
      'glass with index and material',
      [{ name: 'Red', glass: { thicknessMm: 2, index: 1.5, material: 'N-BK7' } }],
      'filters[0].glass.material|"N-BK7"|left out, since index gives the index',
    ],
    [
      'glass that has nothing to be reckoned from',
      [
        { name: 'Luminance', focusShiftUm: 0 },
        { name: 'Red', glass: { thicknessMm: 2, index: 1.5 } },
      ],
      'filters[0].glass|nothing|given in place of its shift, since filters[1]',
    ],
    [
      'minutes for some filters only',
      [
        { name: 'Luminance', focusShiftUm: 0, minutes: 10 },
        { name: 'Red', focusShiftUm: 0 },
      ],
      'filters[1].minutes|nothing|given, since filters[0] has its minutes',
    ],
    [
      'no minutes at all',
      [{ name: 'Red', focusShiftUm: 0, minutes: 0 }],
      'filters[0].minutes|0|> 0 for at least',
    ],
  ])('%s: field, value and what is allowed', (_, filters, fault) => {
    const faults = faultsOf({ filters });
    expect(faults).toHaveLength(1);
    expect(faults[0].slice(0, fault.length)).toBe(fault);
  });
  test('an unknown reference filter', () => {
    expect(faultsOf({ referenceFilter: 'Rot' })).toEqual(['referenceFilter|"Rot"|one of Luminance']);
  });
  test('a shift beyond 20 mm is told even when it comes out of steps', () => {
    const filters = [
      { name: 'Luminance', focuserSteps: 0 },
      { name: 'Red', focuserSteps: 9000 },
    ];
    expect(faultsOf({ filters, focuser: { umPerStep: 10 } })).toEqual([
      'filters[1]|a shift of 90000 µm|within 20000 µm of its reference',
    ]);
  });
  test('a focuser whose step is 0', () => {
    expect(faultsOf({ focuser: { umPerStep: 0 } })).toEqual(['focuser.umPerStep|0|a number other than 0']);
  });
  test('all at once, with those of temperature and pick-off', () => {
    const faults = faultsOf({
      filters: [
        { name: 'Red', focusShiftUm: 1, focuserSteps: 2 },
        { name: 'Red', focusShiftUm: 'far' },
      ],
      referenceFilter: 'Blue',
      temperature: { nightDropK: -3, umPerK: 1, tubeExpansionPerK: 1e-5 },
      pickoff: {
        flangeDistanceMm: 55,
        openingMm: 20,
        mainSensor: { widthMm: 23.5, heightMm: 15.7 },
        mirror: { widthMm: 30, depthMm: 25, distanceMm: 54 },
        edgeFromAxisMm: 90,
      },
    });
    expect(faults.map((text) => text.split('|')[0])).toEqual([
      'filters[1].focusShiftUm',
      'temperature.nightDropK',
      'filters[0].focuserSteps',
      'filters[1].name',
      'focuser',
      'referenceFilter',
      'temperature.tubeExpansionPerK',
      'pickoff.mirror.widthMm',
      'pickoff.mirror.depthMm',
      'pickoff.mirror.distanceMm',
      'pickoff.edgeFromAxisMm',
    ]);
  });
});

describe('the night cools the tube', () => {
  const drift = (temperature: object, more: object = {}) =>
    thermalDrift(smallRig({ temperature: { nightDropK: 10, ...temperature }, ...more }));
  test('a rig without a temperature has no drift', () => {
    expect(thermalDrift(smallRig())).toBeUndefined();
  });
  test('not refocused, both cameras end ahead of focus: the tube has drawn them toward the mirror', () => {
    // 750 mm of 20e-6/K over 10 K
    const found = drift({ tubeExpansionPerK: 20e-6 });
    expect(found?.from).toBe('one mirror or lens');
    expectWithin(found?.beforeRefocusUm ?? 0, -150, 1e-9, 'rounding');
    expectWithin(found?.lowUm ?? 0, -150, 1e-9, 'rounding');
    expect(found?.highUm).toBe(0);
  });
  test('refocused every 2 K, the guide camera comes along: only 2 K are ever left', () => {
    const found = drift({ umPerK: 15, refocusEveryK: 2 });
    expect(found).toMatchObject({ beforeRefocusUm: -30, lowUm: -30, highUm: 0, from: 'as given' });
  });
  test('what the guide path does of its own stays, whatever is refocused', () => {
    expect(drift({ umPerK: 15, refocusEveryK: 2, guidePathUmPerK: -1 })).toMatchObject({
      guidePathUm: 10,
      lowUm: -30,
      highUm: 10,
    });
  });
  test('mirrors that expand with the tube keep the focus', () => {
    const found = drift({ tubeExpansionPerK: 3.3e-6, mirrorExpansionPerK: 3.3e-6 });
    expect(found).toMatchObject({ umPerK: 0, lowUm: 0, highUm: 0 });
    expect(found?.mainDepthK).toBeUndefined();
  });
  test('two mirrors: by twoMirrors, or by the design that the rig names', () => {
    const mirrors = { primaryFNumber: 2, backFocusMm: 150 };
    const own = drift({ tubeExpansionPerK: 1e-5, twoMirrors: mirrors });
    const offAxis = { offAxisMm: 10, telescope: { design: 'ritchey-chretien', ...mirrors } };
    const named = drift({ tubeExpansionPerK: 1e-5 }, { offAxis });
    expect(own?.from).toBe('two mirrors');
    expect(named).toEqual(own);
    // f1 = 300, m = 2.5, k = (1 + 0.5) / 3.5, s = 300 (1 - k) = 171.43: (7.25 * 171.43 + 150) * 1e-5 * 1000
    expectWithin(own?.umPerK ?? 0, (7.25 * (300 - 900 / 7) + 150) * 1e-2, 1e-9, 'rounding');
  });
  test.each([
    [{}, /temperature\.umPerK: must be given \(or tubeExpansionPerK\), got nothing/],
    [{ tubeExpansionPerK: 23.6 }, /temperature\.tubeExpansionPerK: must be <= 0\.001, got 23\.6/],
    [
      { tubeExpansionPerK: 1e-5, twoMirrors: { primaryFNumber: 6, backFocusMm: 100 } },
      /temperature\.twoMirrors\.primaryFNumber: must be < 5, .*, got 6/,
    ],
    [
      { tubeExpansionPerK: 1e-5, twoMirrors: { primaryFNumber: 2, backFocusMm: 900 } },
      /temperature\.twoMirrors\.backFocusMm: must be > -300 and < 750 for these mirrors, got 900/,
    ],
  ])('%j is refused', (temperature, message) => {
    expect(() => drift(temperature)).toThrow(message);
  });
});

describe('filters before the pick-off', () => {
  const band = (wavelengthNm: number, bandwidthNm: number) => ({ wavelengthNm, bandwidthNm });
  const filters = [
    { name: 'Luminance', focusShiftUm: 0, band: band(550, 300) },
    { name: 'H-alpha', focusShiftUm: 180, band: band(656, 7) },
  ];
  test('the guide light has the band of the filter, and none moves the guide focus', () => {
    const before = smallRig({ filters, filtersStand: 'before-pickoff' });
    expect(before.filters.map(({ focusShiftUm }) => focusShiftUm)).toEqual([0, 0]);
    expect(parseRig(before)).toEqual(before);
    const through = rigThrough(before, 'H-alpha');
    const light = (rig: Rig) => buildScene(rig, { focusShiftUm: 0 }).fluxE;
    // Electrons go with the width of the band: 7 of 300 nm.
    expectWithin(light(through) / light(before), 7 / 300, 1e-9, 'a flat spectrum');
    expect(through.guideCamera.wavelengthNm).toBe(656);
  });
  test('behind it, the default, the guide light is that of the telescope, and the focus moves', () => {
    const behind = smallRig({ filters });
    expect(behind.filters.map(({ focusShiftUm }) => focusShiftUm)).toEqual([0, 180]);
    expect(rigThrough(behind, 'H-alpha')).toBe(behind);
  });
  test('a filter that does not say what it passes is asked for it', () => {
    expect(() =>
      smallRig({ filters: [{ name: 'L', focusShiftUm: 0 }], filtersStand: 'before-pickoff' }),
    ).toThrow(/filters\[0\]\.band: must be given, since the filters stand before the pick-off, got nothing/);
  });
  test('the faintest guide star is that of the filter of least light', () => {
    const rig = smallRig({ filters, filtersStand: 'before-pickoff' });
    const options = { focusShiftUm: 0, seed: 1, trials: 64 };
    const narrow = guideStarLimit(rigThrough(rig, 'H-alpha'), options);
    expect(guideStarLimit(rig, options)).toEqual(narrow);
    expect(narrow.usable?.magnitude).toBeLessThan(guideStarLimit(smallRig(), options).usable?.magnitude ?? 0);
  });
  test('the advice is for the filtered star', async () => {
    const rig = smallRig({ filters, filtersStand: 'before-pickoff', guideStar: { magnitude: 12 } });
    const { filters: advised, limit, limitFilter } = await adviseRefocus(rig, { seed: 1, trials: 64 });
    const [whole, narrow] = advised.map(({ assessment }) => assessment.scene.snr);
    // Electrons 7 / 300: between their ratio, where the background drowns the
    // star, and its root, where it does not.
    expect(narrow / whole).toBeGreaterThan(7 / 300);
    expect(narrow / whole).toBeLessThan(1.05 * Math.sqrt(7 / 300));
    // The limit is that of the star with the least light.
    expect(limitFilter).toBe('H-alpha');
    expect(limit).toEqual(await focusLimit(rigThrough(rig, 'H-alpha'), { seed: 1, trials: 64 }));
  });
});
