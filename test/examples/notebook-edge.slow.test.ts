/**
 * The notebook's chapters on the edge of the field and on guiding through events, against the library in
 * Node.
 */
import { buildScene, parseRig, pickoffTradeOff, type Rig, trackStar } from '@holdfast/sim';
import { significant, withError } from '@holdfast/sim/internal';
import { describe, expect, test } from 'vitest';
import {
  exampleRig,
  fewFilters,
  figureText,
  fragmentOf,
  plain,
  seed,
  setControl,
  withNotebook,
} from './notebook-page.ts';
import { rigText } from './plain-rig.ts';

/** With the design and the pick-off of the example, its star by rays. */
const pickoffText = { ...fewFilters(rigText('fast-reflector')), starModel: 'geometric' };
const pickoffRig = parseRig(pickoffText);

const atEdge = (offAxisMm: number, clipDistance: number): Rig => ({
  ...exampleRig,
  telescope: { ...exampleRig.telescope, design: { kind: 'paraboloid' } },
  offAxis: { offAxisMm, clipDistance },
});

describe('at the edge of the field', () => {
  test('the star walks as the library says', async () => {
    const complaints = await withNotebook(async (page) => {
      await setControl(page, 'offAxis', 6);
      await setControl(page, 'edgeClip', 0.4);
      await setControl(page, 'edgeShift', 300);
      await expect.poll(() => figureText(page, 'walk-through-focus')).toContain('edge at 0.4 radii');
      await expect.poll(() => figureText(page, 'walk-through-focus')).toContain('300 µm:');
      for (const focusShiftUm of [-300, 0, 300]) {
        const { x } = buildScene(atEdge(6, 0.4), { focusShiftUm }).lightOffsetPx;
        expect(await figureText(page, 'walk-through-focus')).toContain(
          `${focusShiftUm} µm: ${x.toFixed(3)} px`,
        );
        const sign = focusShiftUm > 0 ? '+' : '';
        await expect
          .poll(() => figureText(page, 'star-at-the-edge'))
          .toContain(`${sign}${focusShiftUm} µm: center of mass at x ${x.toFixed(3)} px`);
      }
    });
    expect(complaints).toEqual([]);
  });

  test('a telescope free of coma has no comet', () =>
    withNotebook(async (page) => {
      const caption = page.locator('#star-at-the-edge figcaption');
      await expect.poll(() => caption.textContent()).toContain('the comet is');
      await page
        .locator('[data-control=design] select')
        .selectOption({ label: 'two hyperboloids, free of coma' });
      await expect.poll(async () => plain(await caption.textContent())).toContain('the comet is 0 µm long');
    }));

  test('the best depth of the pick-off is that of the library; one that cannot be is refused in place', () =>
    withNotebook(
      async (page) => {
        const section = page.locator('section[aria-labelledby=pickoff-depth]');
        await section.scrollIntoViewIfNeeded();
        await setControl(page, 'allowedShade', 5);
        const { pickoff } = pickoffRig;
        if (pickoff === undefined) throw new Error('the example rig has a pick-off');
        await expect
          .poll(() => page.locator('.which-star').textContent())
          .toContain('the star of the pick-off');
        // The mirror stands where the rig says until it is moved.
        expect(await page.locator('[data-control=mirrorDistance] input.number').inputValue()).toBe(
          String(pickoff.mirror.distanceMm),
        );
        const { edgeFromAxisMm: _, exitPupilDistanceMm: __, ...mount } = pickoff;
        const rig = { ...pickoffRig, offAxis: { offAxisMm: 10, clipDistance: 0.7 } };
        const { best } = pickoffTradeOff(rig, { ...mount, allowedLossPercent: 5, focusShiftUm: 250 });
        await expect
          .poll(async () => plain(await section.locator('.state').textContent()))
          .toContain(`inner edge ${best?.edgeFromAxisMm.toFixed(1)} mm`);
        if (best?.error)
          expect(plain(await section.locator('.state').textContent())).toContain(
            `${significant(best.error.leastErrorArcsec, 2)}″`,
          );
        await setControl(page, 'mirrorDistance', 90);
        await expect
          .poll(() => section.locator('.state').textContent())
          .toContain('mirror.distanceMm must be');
        expect(await page.locator('#shade-by-depth').isVisible()).toBe(false);
        await setControl(page, 'mirrorDistance', 30);
        await expect.poll(() => page.locator('#shade-by-depth').isVisible()).toBe(true);
      },
      { fragment: fragmentOf(pickoffText) },
    ));
});

describe('through a focus run', () => {
  test('eight runs give the numbers of Node, and time can be set', () =>
    withNotebook(async (page) => {
      await setControl(page, 'runSeconds', 5);
      await page.locator('#guided-through-event').scrollIntoViewIfNeeded();
      const caption = page.locator('#guided-through-event figcaption');
      await expect.poll(() => caption.textContent()).toContain('mean of 8 runs');
      const result = await trackStar(exampleRig, {
        seed,
        runs: 8,
        durationS: 240,
        settleS: 60,
        star: { focusShiftUm: 0, clipDistance: 0.7 },
        events: [
          {
            kind: 'focus-run',
            startS: 60,
            shiftsUm: [-200, -100, 0, 100, 200],
            secondsEach: 5,
            endShiftUm: 0,
          },
        ],
        policy: { duringEvents: 'carry-on' },
        picture: { exposureS: 60, gapS: 0 },
      });
      const worst = result.picture.reduce((a, b) => (b.growthPercent.value > a.growthPercent.value ? b : a));
      const row = page.locator('#ways-through-event tbody tr.row').filter({ hasText: 'carry on' });
      await expect.poll(async () => plain(await row.textContent())).toContain(withError(worst.growthPercent));
      await setControl(page, 'time', 62);
      await expect.poll(() => figureText(page, 'moment-of-the-run')).toContain('At 62 s the event is on');
      const { series } = result;
      const at = Math.floor(62 / result.stepS);
      const off = Math.sqrt(series.errorX[at] ** 2 + series.errorY[at] ** 2);
      expect(await figureText(page, 'moment-of-the-run')).toContain(`carry on: ${off.toFixed(2)}″ off`);
    }));

  test('plays, and pauses; without movement for who asked for less', async () => {
    await withNotebook(async (page) => {
      await page.locator('#moment-of-the-run').scrollIntoViewIfNeeded();
      await expect.poll(() => figureText(page, 'moment-of-the-run')).toContain('At 75 s');
      await page.getByRole('button', { name: 'play' }).click();
      await expect.poll(() => figureText(page, 'moment-of-the-run')).not.toContain('At 75 s');
      await page.getByRole('button', { name: 'pause' }).click();
      expect(await page.getByRole('button', { name: 'play' }).isVisible()).toBe(true);
    });
    await withNotebook(
      async (page) => {
        await expect.poll(() => page.locator('.player').count()).toBe(1);
        expect(await page.getByRole('button', { name: 'play' }).count()).toBe(0);
      },
      { reducedMotion: 'reduce' },
    );
  });
});
