/**
 * What the page knows and shows is of one state: never an answer of another rig, never a change that is lost.
 */
import { createImage } from '@holdfast/psf';
import { buildScene, frameToFits, parseRig, writeFits } from '@holdfast/sim';
import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import {
  drop,
  exampleRig,
  exampleText,
  figureText,
  fragmentOf,
  newPage,
  plain,
  setControl,
  setField,
  withNotebook,
} from './notebook-page.ts';
import { bytesOf } from './shared-browser.ts';

const twoFilters = {
  ...exampleText,
  filters: [
    { name: 'One', focusShiftUm: 0 },
    { name: 'Two', focusShiftUm: 40 },
  ],
};
const verdict = (page: Page) => page.locator('.first-answer');
const writtenIn = (page: Page, field: string) => page.locator(`[data-field="${field}"]`).inputValue();
const isStale = (page: Page, selector: string) =>
  page.locator(selector).evaluate((box) => box.classList.contains('stale'));

describe('an answer is that of the state beside it', () => {
  test('aperture and focal length swapped: no verdict, and the reason at the verdict and at the field', () =>
    withNotebook(async (page) => {
      await expect.poll(() => isStale(page, '.first-answer')).toBe(false);
      await setField(page, 'telescope.apertureMm', '800');
      await setField(page, 'telescope.focalLengthMm', '200');
      await expect.poll(() => verdict(page).locator('> .failure').textContent()).toContain('swapped?');
      expect(await isStale(page, '.first-answer')).toBe(true);
      expect(await isStale(page, 'section[aria-labelledby=answer] .body')).toBe(true);
      expect(await isStale(page, 'section[aria-labelledby=mean-slope] .body')).toBe(true);
      const field = page.locator('[data-field="telescope.focalLengthMm"]');
      const described = (await field.getAttribute('aria-describedby'))?.split(' ')[0];
      expect(await page.locator(`#${described}`).textContent()).toContain('swapped?');
      await setField(page, 'telescope.apertureMm', '200');
      await setField(page, 'telescope.focalLengthMm', '800');
      await expect.poll(() => isStale(page, '.first-answer')).toBe(false);
      expect(await verdict(page).locator('> .failure').textContent()).toBe('');
    }));

  test('a value that no computation can take is told at the field that was changed last', () =>
    withNotebook(async (page) => {
      await page.locator('[data-field=starModel]').evaluate((field: HTMLSelectElement) => {
        const details = field.closest('details');
        if (details) details.open = true;
      });
      await page.locator('[data-field=starModel]').selectOption('diffraction');
      // So wide a ring needs more samples of the pupil than the library takes.
      await setField(page, 'guideFocusShiftUm', '19000');
      const field = page.locator('[data-field="guideFocusShiftUm"]');
      await expect.poll(() => field.getAttribute('aria-invalid')).toBe('true');
      expect(await page.locator('section[aria-labelledby=answer] .failure').textContent()).toContain(
        'No answer',
      );
    }));

  test('a frame whose star is saturated gets no verdict, with the reason', () =>
    withNotebook(async (page) => {
      const { camera } = buildScene(exampleRig, { focusShiftUm: 0 });
      const frame = createImage(80, 60);
      for (let y = 0; y < 60; y++)
        for (let x = 0; x < 80; x++)
          frame.data[80 * y + x] = (x - 40) ** 2 + (y - 30) ** 2 < 50 ? 1e6 : 100 + ((7 * x + 3 * y) % 5);
      await drop(page, 'bright.fits', frameToFits(frame, camera));
      const section = page.locator('section[aria-labelledby=advice-on-frame]');
      await expect.poll(() => section.locator('.answer').textContent()).toBe('No verdict.');
      expect(await section.textContent()).toContain('saturated');
      // In the picture of the whole frame it is dashed, with its number and the reason; so in the table.
      await expect.poll(() => figureText(page, 'whole-frame')).toContain('1 star, numbered');
      const whole = page.locator('#whole-frame svg[role=img]');
      expect(await whole.locator('text').allTextContents()).toContain('1: saturated');
      expect(await whole.locator('circle[stroke-dasharray="4 3"]').count()).toBe(1);
      expect(await page.locator('#stars-of-frame tr.note').textContent()).toContain('saturated');
    }));
});

describe('the rig is the user’s', () => {
  test('every part of the rig has its field, and what is emptied is gone', () =>
    withNotebook(async (page) => {
      for (const field of [
        'temperature.nightDropK',
        'focuser.umPerStep',
        'focuser.focusRun.spacingUm',
        'pickoff.mirror.depthMm',
        'telescope.design.kind',
        'galacticLatitudeDeg',
      ])
        expect(await page.locator(`[data-field="${field}"]`).count(), field).toBe(1);
      await setField(page, 'temperature.tubeExpansionPerK', '');
      await setField(page, 'temperature.mirrorExpansionPerK', '');
      await setField(page, 'temperature.refocusEveryK', '');
      await setField(page, 'temperature.nightDropK', '');
      await expect.poll(async () => 'temperature' in ((await savedRig(page)) as object)).toBe(false);
    }));

  test('a number that is typed is used as it is, whatever the slider can show', () =>
    withNotebook(async (page) => {
      await setControl(page, 'shift', 446);
      await expect.poll(() => figureText(page, 'ring-profiles')).toContain('+446 µm');
      expect(await page.locator('[data-control=shift] input[type=range]').inputValue()).toBe('445');
      await setControl(page, 'clip', 7);
      await expect
        .poll(() => page.locator('section[aria-labelledby=light-through-focus] .failure').textContent())
        .toContain('from 0 to 1');
    }));
});

describe('a filter told by the ring that is seen with it', () => {
  test('keeps the px that were typed when another number of the rig changes, and saves a shift', () =>
    withNotebook(async (page) => {
      const blue = 'filters[3]';
      const blueRow = page.locator('#advice-by-filter tbody tr.row').filter({ hasText: 'Blue' }).first();
      const ringOfBlue = async () => plain(await blueRow.textContent());
      await page.locator(`[data-field="${blue}.way"]`).selectOption('ring');
      // 60 um ahead of focus at F/4 with pixels of 3.75 um.
      expect(await writtenIn(page, `${blue}.ring.px`)).toBe('4');
      expect(await writtenIn(page, `${blue}.ring.side`)).toBe('ahead');
      await setField(page, `${blue}.ring.px`, '14');
      await expect.poll(ringOfBlue).toContain('ring 14.0 px');
      await setField(page, 'guideCamera.pixelSizeUm', '5');
      await expect.poll(ringOfBlue).toContain('280 µm');
      expect(await ringOfBlue()).toContain('ring 14.0 px');
      expect(await writtenIn(page, `${blue}.ring.px`)).toBe('14');
      await setField(page, `${blue}.ring.px`, 'wide');
      const field = page.locator(`[data-field="${blue}.ring.px"]`);
      await expect.poll(() => field.getAttribute('aria-invalid')).toBe('true');
      await setField(page, `${blue}.ring.px`, '14');
      const [download] = await Promise.all([
        page.waitForEvent('download'),
        page.getByRole('button', { name: /save the rig as JSON/ }).click(),
      ]);
      const { filters } = parseRig((await bytesOf(download)).toString('utf8'));
      // 14 px x 5 um x F/4, ahead of focus.
      expect(filters[3]).toMatchObject({ name: 'Blue', focusShiftUm: -280 });
    }));
});

test('a filter told by its glass or by focuser steps', () =>
  withNotebook(
    async (page) => {
      const rowOf = async (name: string) =>
        plain(await page.locator('#advice-by-filter tbody tr.row', { hasText: name }).first().textContent());
      const way = (row: number, value: string) =>
        page.locator(`[data-field="filters[${row}].way"]`).selectOption(value);
      for (const row of [0, 1]) await way(row, 'glass');
      await setField(page, 'filters[0].glass.thicknessMm', '0');
      await setField(page, 'filters[1].glass.thicknessMm', '1');
      // t (1 - 1 / n) of N-BK7 in the rig's own light, n = 1.5168 at 587.6 nm.
      await expect.poll(() => rowOf('Two')).toMatch(/34[012] µm/);
      for (const row of [0, 1]) await way(row, 'focuserSteps');
      await setField(page, 'focuser.umPerStep', '2.5');
      await setField(page, 'filters[0].focuserSteps', '1000');
      await setField(page, 'filters[1].focuserSteps', '1040');
      await expect.poll(() => rowOf('Two')).toContain('+100 µm');
    },
    { fragment: fragmentOf(twoFilters) },
  ));

const savedRig = (page: Page): Promise<unknown> =>
  page.evaluate(() => {
    const letters = location.hash.slice('#state='.length).split('&')[0];
    const text = atob(letters.replaceAll('-', '+').replaceAll('_', '/'));
    const bytes = Uint8Array.from(text, (letter) => letter.charCodeAt(0));
    return (JSON.parse(new TextDecoder().decode(bytes)) as { rig: unknown }).rig;
  });

describe('nothing is lost', () => {
  test('a chapter link keeps the rig; Back, Forward, undo and redo move between states', () =>
    withNotebook(async (page) => {
      await page.evaluate(() => {
        (globalThis as { mark?: number }).mark = 1;
      });
      const magnitude = () => writtenIn(page, 'guideStar.magnitude');
      const settled = (value: string) =>
        expect.poll(async () => JSON.stringify(await savedRig(page))).toContain(`"magnitude":${value}`);
      await setField(page, 'guideStar.magnitude', '12');
      await settled('12');
      await page.locator('#contents a[href="#why-a-ring"]').click();
      await settled('12');
      expect(page.url()).toContain('&at=why-a-ring');
      await setField(page, 'guideStar.magnitude', '13');
      await settled('13');
      await page.goBack();
      await expect.poll(magnitude).toBe('12');
      await page.goForward();
      await expect.poll(magnitude).toBe('13');
      await page.getByRole('button', { name: 'undo' }).click();
      await expect.poll(magnitude).toBe('12');
      await page.getByRole('button', { name: 'redo' }).click();
      await expect.poll(magnitude).toBe('13');
      // No state was reached by loading the page again.
      expect(await page.evaluate(() => (globalThis as { mark?: number }).mark)).toBe(1);
    }));

  test('Back a moment after typing undoes what was typed, and undo brings it again', () =>
    withNotebook(async (page) => {
      const magnitude = () => writtenIn(page, 'guideStar.magnitude');
      const before = await magnitude();
      // In one task, as the state in the address follows what is typed only after a moment.
      await page.locator('[data-field="guideStar.magnitude"]').evaluate((field: HTMLInputElement) => {
        field.value = '9.25';
        field.dispatchEvent(new Event('input', { bubbles: true }));
        location.hash = '';
      });
      await expect.poll(magnitude).toBe(before);
      await page.getByRole('button', { name: 'undo' }).click();
      await expect.poll(magnitude).toBe('9.25');
    }));

  test('a removed filter comes back by undo', () =>
    withNotebook(async (page) => {
      const names = () => page.locator('.filters [data-field$=".name"]').count();
      const before = await names();
      await page.getByRole('button', { name: 'remove Blue' }).click();
      expect(await names()).toBe(before - 1);
      await page.getByRole('button', { name: 'undo' }).click();
      await expect.poll(names).toBe(before);
    }));

  test('the link holds the time of the run that is played; a page that is opened again without its address is as it was left; a fresh start is the first page', () =>
    withNotebook(async (page) => {
      const before = page.url();
      await setControl(page, 'time', 101);
      await expect.poll(() => page.url()).not.toBe(before);
      await page.reload();
      expect(await page.locator('[data-control=time] input.number').inputValue()).toBe('101');
      await setField(page, 'guideStar.magnitude', '12.75');
      await expect.poll(async () => JSON.stringify(await savedRig(page))).toContain('12.75');
      const bare = page.url().split('#')[0];
      await page.goto('about:blank');
      await page.goto(bare);
      expect(await writtenIn(page, 'guideStar.magnitude')).toBe('12.75');
      await page.getByRole('button', { name: 'start afresh' }).click();
      await expect.poll(() => writtenIn(page, 'guideStar.magnitude')).not.toBe('12.75');
    }, newPage));
});

describe('files', () => {
  test('a file dropped beside the box is read, and does not replace the page', () =>
    withNotebook(async (page) => {
      const empty = createImage(64, 48);
      empty.data.fill(100);
      await drop(page, 'empty.fits', writeFits(empty), 'h1');
      await expect
        .poll(() => page.locator('section[aria-labelledby=a-frame] .state').textContent())
        .toContain('No star was found');
    }));

  test('a file that is too large is refused with the reason', () =>
    withNotebook(async (page) => {
      await page.evaluate(() => {
        const file = new File(['x'], 'huge.fits');
        Object.defineProperty(file, 'size', { value: 3e9 });
        const dropped = new Event('drop', { cancelable: true });
        Object.defineProperty(dropped, 'dataTransfer', { value: { files: [file] } });
        document.body.dispatchEvent(Object.assign(dropped));
        dispatchEvent(dropped);
      });
      await expect
        .poll(() => page.locator('section[aria-labelledby=a-frame] .state').textContent())
        .toContain('too large for this page: 3000 MB');
      expect(plain(await page.locator('section[aria-labelledby=advice-on-frame]').textContent())).toContain(
        'Open a frame',
      );
    }));
});
