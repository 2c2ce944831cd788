import { adviseRefocus, adviseStar, type CompleteAdvice } from '@holdfast/sim';
import { beforeAll, describe, expect, test } from 'vitest';
import { filterChanges } from '../../packages/sim/src/advice/filter-change.ts';
import { expectWithin } from '../expect-within.ts';
import { smallRig } from './small-rig.ts';

const rig = smallRig({
  guideStar: { magnitude: 13.5 },
  filters: [
    { name: 'Luminance', focusShiftUm: 0 },
    { name: 'Blue', focusShiftUm: -60 },
    { name: 'O III', focusShiftUm: 360 },
    { name: 'No filter', focusShiftUm: 1500 },
  ],
});

describe('advice on a rig', () => {
  let advice: CompleteAdvice;
  beforeAll(async () => {
    advice = await adviseRefocus(rig, { seed: 1, trials: 128 });
  });
  const outcomeOf = (name: string) => advice.filters.find(({ filter }) => filter === name)?.outcome;

  test('small shifts are kept, large ones refocused, those between trimmed', () => {
    expect(outcomeOf('Luminance')).toBe('keep');
    expect(outcomeOf('Blue')).toBe('keep');
    expect(outcomeOf('O III')).toBe('trim');
    expect(outcomeOf('No filter')).toBe('refocus');
  });
  test('it is at one with the focus limit', () => {
    for (const { focusShiftUm, outcome } of advice.filters) {
      if (Math.abs(focusShiftUm) < advice.limit.limitUm.low) expect(outcome).toBe('keep');
      if (Math.abs(focusShiftUm) > advice.limit.limitUm.high) expect(outcome).not.toBe('keep');
    }
  });
  test('a trim names its change, and stands within the budget', () => {
    const { trim, reason } = advice.filters[2];
    expect(trim?.assessment.verdict).toBe('within');
    expect(reason).toContain(trim?.change);
    expect(trim?.assessment.growth?.growthPercent.value).toBeLessThan(5);
  });
  test('each reason holds a number with what is allowed, and its error where its digits show one', () => {
    for (const { reason, assessment } of advice.filters) {
      const isShown = (assessment.growth?.growthPercent.standardError ?? 0) >= 0.05;
      expect(reason).toMatch(/\d % \(allowed \d|% of frames.*\(allowed \d/);
      if (!reason.includes('% of frames')) expect(/\d ± \d/.test(reason.split(';')[0])).toBe(isShown);
    }
  });
  test('every change of the filter says what moves and what becomes of the star', () => {
    const { changes, filters, limit } = advice;
    expect(changes).toHaveLength(4 * 3);
    const change = (from: string, to: string) =>
      changes.find((each) => each.from === from && each.to === to) ?? changes[0];
    const out = change('Blue', 'O III');
    expect(out).toMatchObject({ moveUm: 420, fromShiftUm: -60, toShiftUm: 360, outcome: 'trim' });
    expect(change('O III', 'Blue')).toMatchObject({ moveUm: -420, outcome: 'keep', guideMoveUm: 0 });
    // 360 um at F/5 on pixels of 4 um
    expect(out.toRingPx).toBeCloseTo(18, 9);
    expect(out.toNoiseArcsec).toEqual(filters[2].assessment.error.noiseEquivalentArcsec);
    expect(out.jumpArcsec).toEqual({ x: 0, y: 0 });
    expect(out.reason).toContain(filters[2].trim?.change);
    const far = change('Luminance', 'No filter');
    expectWithin(
      far.toShiftUm + (far.guideMoveUm ?? 0),
      limit.beyond.limitUm.low,
      1e-9,
      'just inside the limit',
    );
    expect(far.reason).toMatch(/move the guide camera by \d+ µm or more toward the telescope/);
  });
  test('what the rig does not name is not answered', () => {
    expect(advice.thermal).toBeUndefined();
    expect(advice.pickoff).toBeUndefined();
  });
  test('the one setting for all filters is part of it', () => {
    const { bestGuideFocus, filters } = advice;
    expectWithin(bestGuideFocus.settingUm.value, -720, 0.5, 'middle of -60 and 1500 µm');
    expect(bestGuideFocus.filters.map(({ filter }) => filter)).toEqual(filters.map(({ filter }) => filter));
    expect(bestGuideFocus.partial?.leavesOut).toEqual(['No filter']);
  });
  test('behind an edge the light jumps with the focus, by -1 / (2 F) times the middle of the pupil', async () => {
    const clipped = smallRig({
      filters: [
        { name: 'Luminance', focusShiftUm: 0 },
        { name: 'Red', focusShiftUm: 200 },
      ],
      telescope: { apertureMm: 150, focalLengthMm: 750, obstructionRatio: 0 },
      offAxis: { offAxisMm: 0, telescope: { design: 'paraboloid' }, clipDistance: 0 },
    });
    const filters = await Promise.all(
      clipped.filters.map(async ({ name: filter, focusShiftUm }) => ({
        filter,
        ...(await adviseStar(clipped, { focusShiftUm }, { seed: 1, trials: 64 })),
      })),
    );
    const changes = filterChanges(clipped, filters, advice.limit);
    // Half a disc: its middle lies 4 / (3 pi) of a radius from the edge. 200 um / (2 * 5) = 20 um; 0.275
    // arcsec a um.
    const expected = ((20 * 4) / (3 * Math.PI)) * (206.265 / 750);
    const { x, y } = changes[0].jumpArcsec;
    expectWithin(Math.sqrt(x * x + y * y), expected, 0.03 * expected, 'the image is drawn on pixels');
  });
});

test('a star too faint even in focus: refocusing does not help, and the advice says so', async () => {
  const { outcome, reason } = await adviseStar(
    rig,
    { focusShiftUm: 100, fluxE: 25 },
    { seed: 1, trials: 256 },
  );
  expect(outcome).toBe('refocus');
  expect(reason).toMatch(/refocusing alone does not help .*choose a brighter star/);
});
