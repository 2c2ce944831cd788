/**
 * The notebook while one uses it: every control changes its figures, and their numbers are those of the
 * library in Node.
 */
import {
  adviseRefocus,
  adviseStar,
  buildScene,
  compareEstimators,
  estimatorNames,
  focusLimit,
  parseRig,
  simulateFrames,
  sweep,
} from '@holdfast/sim';
import {
  analyticErrorPx,
  estimatorLabels,
  prepareEstimator,
  rmsPerAxis,
  significant,
  withError,
} from '@holdfast/sim/internal';
import { describe, expect, test } from 'vitest';
import { decisionText } from '../../examples/dist/figures/number-words.js';
import { guideFocusLines } from '../../examples/dist/reports/guide-focus-text.js';
import {
  exampleRig,
  exampleText,
  figureText,
  plain,
  seed,
  setControl,
  setField,
  withNotebook,
} from './notebook-page.ts';
import { bytesOf } from './shared-browser.ts';

describe('should I refocus', () => {
  test('answers by formula at once and by the simulation of the command line after', async () => {
    const complaints = await withNotebook(async (page) => {
      const cells = page.locator('#advice-by-filter tbody tr.row');
      await expect.poll(() => cells.count()).toBeGreaterThanOrEqual(exampleRig.filters.length);
      await expect
        .poll(() => page.locator('section[aria-labelledby=answer] .state').textContent())
        .toContain('256 frames');
      const blue = exampleRig.filters.find(({ name }) => name === 'Blue');
      const advice = await adviseStar(
        exampleRig,
        { focusShiftUm: blue?.focusShiftUm ?? Number.NaN },
        { seed, trials: 256 },
      );
      const row = plain(await cells.filter({ hasText: 'Blue' }).first().textContent());
      expect(row).toContain(advice.outcome);
      expect(row).toContain(plain(decisionText(advice.assessment.growth?.growthPercent, 5)));
      const limit = await focusLimit(exampleRig, { seed, trials: 256 });
      expect(plain(await page.locator('section[aria-labelledby=answer] .answer').textContent())).toContain(
        `${significant(limit.limitUm.value, 2)} µm`,
      );
      const { bestGuideFocus } = await adviseRefocus(exampleRig, { seed, trials: 256 });
      const [best] = guideFocusLines(bestGuideFocus);
      await expect
        .poll(async () => plain(await page.locator('section[aria-labelledby=one-focus]').textContent()))
        .toContain(best.replace(/\bum\b/g, 'µm'));
    });
    expect(complaints).toEqual([]);
  });

  test('follows the form: a fainter star costs SNR', () =>
    withNotebook(async (page) => {
      const snr = () =>
        page.locator('#advice-by-filter tbody tr.row td[data-head=SNR]').first().textContent();
      const shownFor = (magnitude: number) => {
        const rig = parseRig({ ...exampleText, guideStar: { magnitude } });
        return significant(buildScene(rig, { focusShiftUm: 0 }).snr, 3);
      };
      await expect.poll(snr).toBe(shownFor(13.5));
      await setField(page, 'guideStar.magnitude', '14.5');
      await expect.poll(snr).toBe(shownFor(14.5));
      await expect.poll(() => page.locator('#subject').textContent()).toContain('magnitude 14.5');
    }));

  test('says beside the field and at the verdict what is wrong, and recovers', () =>
    withNotebook(async (page) => {
      const field = page.locator('[data-field="telescope.obstructionRatio"]');
      await setField(page, 'telescope.obstructionRatio', '1.2');
      await expect.poll(() => field.getAttribute('aria-invalid')).toBe('true');
      const described = (await field.getAttribute('aria-describedby'))?.split(' ')[0];
      expect(await page.locator(`#${described}`).textContent()).toBe('must be < 1');
      await expect
        .poll(() => page.locator('.first-answer > .failure').textContent())
        .toContain('obstruction ratio must be < 1, got 1.2');
      await setField(page, 'telescope.obstructionRatio', '0,2');
      await expect.poll(() => field.getAttribute('aria-invalid')).toBeNull();
      await expect.poll(() => page.locator('.first-answer > .failure').textContent()).toBe('');
    }));

  test('adds and removes filters', () =>
    withNotebook(async (page) => {
      const names = () => page.locator('#advice-by-filter tbody th.head').allTextContents();
      const added = `Filter ${exampleRig.filters.length + 1}`;
      await page.getByRole('button', { name: 'add a filter' }).click();
      await expect.poll(names).toContain(added);
      await page.getByRole('button', { name: `remove ${added}` }).click();
      await expect.poll(names).not.toContain(added);
    }));

  test('reads a rig file and says what is wrong with a bad one', () =>
    withNotebook(async (page) => {
      const load = (text: string) =>
        page
          .locator('#rig-file')
          .setInputFiles({ name: 'rig.json', mimeType: 'application/json', buffer: Buffer.from(text) });
      await load(JSON.stringify({ ...exampleText, name: 'From a file', guideStar: { magnitude: 11 } }));
      await expect.poll(() => page.locator('#subject').textContent()).toContain('From a file');
      expect(await page.locator('[data-field="guideStar.magnitude"]').inputValue()).toBe('11');
      await load('{ "name": ');
      await expect
        .poll(() => page.locator('.rig-file .said >> nth=0').textContent())
        .toContain('not valid JSON');
      await load(JSON.stringify({ ...exampleText, telescop: 1 }));
      await expect.poll(() => page.locator('.faults').textContent()).toContain('telescop: must be');
      expect(await page.locator('#subject').textContent()).toContain('From a file');
    }));

  test('saves the rig as a file that the library reads', () =>
    withNotebook(async (page) => {
      await setField(page, 'name', 'Mine');
      const [download] = await Promise.all([
        page.waitForEvent('download'),
        page.getByRole('button', { name: /save the rig as JSON/ }).click(),
      ]);
      expect(parseRig((await bytesOf(download)).toString('utf8'))).toEqual(
        parseRig({ ...exampleText, name: 'Mine' }),
      );
    }));

  test('a link restores rig and controls', async () => {
    let fragment = '';
    await withNotebook(async (page) => {
      await setField(page, 'guideStar.magnitude', '12.25');
      await setControl(page, 'snr', 77);
      // The address follows a while after the last change: it is there when it holds both.
      const state = () => Buffer.from(page.url().split('#state=')[1] ?? '', 'base64url').toString();
      await expect.poll(state).toMatch(/12\.25.*77/);
      fragment = new URL(page.url()).hash;
    });
    await withNotebook(
      async (page) => {
        expect(await page.locator('[data-field="guideStar.magnitude"]').inputValue()).toBe('12.25');
        expect(await page.locator('[data-control=snr] input.number').inputValue()).toBe('77');
        await expect.poll(() => page.locator('#subject').textContent()).toContain('magnitude 12.25');
      },
      { fragment },
    );
  });

  test('a link that holds nonsense does no harm', async () => {
    const complaints = await withNotebook(
      async (page) => {
        await expect.poll(() => page.locator('#subject').textContent()).toContain('120 mm f/7');
      },
      { fragment: '#state=%3Cscript%3E' },
    );
    expect(complaints).toEqual([]);
  });
});

describe('why a ring still guides', () => {
  test('the center of mass stands still, and walks behind an edge by what the library says', () =>
    withNotebook(async (page) => {
      await setControl(page, 'shift', 300);
      await expect.poll(() => figureText(page, 'ring-profiles')).toContain('+300 µm');
      const still = await figureText(page, 'ring-profiles');
      expect(still.match(/center of mass at 0\.000 px/g)?.length).toBe(7);
      await setControl(page, 'clip', 0.5);
      const scene = buildScene(exampleRig, { focusShiftUm: 300, obstructionRatio: 0.35, clipDistance: 0.5 });
      await expect.poll(() => figureText(page, 'wave-slope')).toContain('light only to 0.5 radii');
      const walk = Number(
        /center of mass by .* µm, (-?[\d.]+) px/.exec(await figureText(page, 'wave-slope'))?.[1],
      );
      expect(walk).toBeCloseTo(scene.lightOffsetPx.x, 3);
      // The drawn light has it too: its window holds nearly all of it.
      const drawn = async () =>
        Number(
          /\+300 µm: [^;]*center of mass at (-?[\d.]+) px/.exec(await figureText(page, 'ring-profiles'))?.[1],
        );
      await expect.poll(drawn).toBeCloseTo(scene.lightOffsetPx.x, 1);
    }));

  test('the noise is that of the library: formula first, then the same trials', () =>
    withNotebook(async (page) => {
      await setControl(page, 'shift', 80);
      await page.locator('#noise-of-a-ring').scrollIntoViewIfNeeded();
      const pupil = { obstructionRatio: 0.35, clipDistance: 1 };
      const byFormula = analyticErrorPx(
        buildScene(exampleRig, { focusShiftUm: 80, ...pupil }),
        'centerOfMass',
      );
      const told = () => figureText(page, 'noise-of-a-ring');
      await expect.poll(told).toContain('At 80 µm: center of mass');
      const first = await told();
      // The point that is chosen is the first to be simulated.
      if (first.includes('By formula.'))
        expect(first).toContain(`${significant(byFormula ?? 0, 3)} px by formula`);
      await expect.poll(told).toContain('256 simulated frames per point');
      const rows = [];
      const setting = { focusShiftUm: 80, ...pupil };
      const plan = { settings: [setting], axes: { estimator: ['centerOfMass' as const] }, seed, trials: 256 };
      for await (const row of sweep(exampleRig, plan)) rows.push(row);
      const rms = rows[0].noiseEquivalentPx;
      expect(rms).toBeDefined();
      if (rms) expect(await told()).toContain(`center of mass ${withError(rms)} px`);
    }));
});

describe('which way of measuring', () => {
  test('one frame is the frame of the library, measured in every way; the button takes the next', () =>
    withNotebook(async (page) => {
      await setControl(page, 'snr', 40);
      await setControl(page, 'ring', 12);
      const scene = buildScene(exampleRig, { focusShiftUm: 12 * 3.75 * 4, snr: 40 });
      const frames = simulateFrames(scene, seed);
      for (const trial of [0, 1]) {
        const { pixels, background, x, y } = frames.frame(trial);
        const [name] = estimatorNames;
        const found = prepareEstimator(name, scene, frames.backgroundSigma)(pixels, background);
        const off = found.ok
          ? `${Math.sqrt((found.x - x) ** 2 + (found.y - y) ** 2).toFixed(3)} px off`
          : 'lost';
        await expect
          .poll(() => figureText(page, 'one-noisy-frame'))
          .toContain(`${estimatorLabels[name]} ${off}`);
        for (const estimator of estimatorNames)
          expect(await figureText(page, 'one-noisy-frame')).toContain(estimatorLabels[estimator]);
        await page.getByRole('button', { name: 'another frame' }).click();
      }
    }));

  test('the cloud has the offset and the scatter of the same frames in Node', () =>
    withNotebook(async (page) => {
      await page.locator('#position-clouds').scrollIntoViewIfNeeded();
      const told = () => figureText(page, 'position-clouds');
      // Not the cloud of an earlier test.
      const caption = page.locator('#position-clouds figcaption');
      await expect.poll(() => caption.textContent()).toContain('(SNR 30)');
      await expect.poll(told).toMatch(/of \d{3,} frames lost/);
      // More and more frames follow: any round serves, as each is compared to the last digit.
      const text = await told();
      const count = Number(/of (\d+) frames lost/.exec(text)?.[1]);
      const scene = buildScene(exampleRig, { focusShiftUm: 16 * 3.75 * 4, snr: 30 });
      const frames = simulateFrames(scene, seed);
      const measure = prepareEstimator('centerOfMass', scene, frames.backgroundSigma);
      const errorX = new Float64Array(count);
      const errorY = new Float64Array(count);
      for (let trial = 0; trial < count; trial++) {
        const { pixels, background, x, y } = frames.frame(trial);
        const found = measure(pixels, background);
        expect(found.ok).toBe(true);
        if (!found.ok) continue;
        errorX[trial] = found.x - x;
        errorY[trial] = found.y - y;
      }
      const mean = (errors: Float64Array) => errors.reduce((a, b) => a + b, 0) / errors.length;
      const [x, y] = [mean(errorX), mean(errorY)];
      const scatter = rmsPerAxis(
        errorX.map((error) => error - x),
        errorY.map((error) => error - y),
      );
      const offset = { value: Math.sqrt(x * x + y * y), standardError: scatter.value / Math.sqrt(count) };
      expect(text).toContain(`offset ${withError(offset)} px, scatter ${withError(scatter)} px`);
    }));

  test('all ways over ring and SNR, with the first round of the library’s trials', () =>
    withNotebook(async (page) => {
      await page.locator('#error-over-snr').scrollIntoViewIfNeeded();
      const told = () => figureText(page, 'error-over-snr');
      // A first look has frames for the quick ways alone; then all have.
      const toldFor250 = async () => (await told()).split('SNR 250:')[1] ?? '';
      await expect.poll(toldFor250).toMatch(/simulated frames per point/);
      await expect.poll(toldFor250).not.toMatch(/by formula|to follow/i);
      const text = await toldFor250();
      for (const estimator of estimatorNames) expect(text).toContain(estimatorLabels[estimator]);
      const trials = Number(/(\d+) simulated frames per point/.exec(text)?.[1]);
      const setting = { focusShiftUm: 240, snr: 250 };
      const scene = buildScene(exampleRig, setting);
      const cellSeed = `${seed}|${JSON.stringify(Object.entries(setting).sort())}`;
      const errors = compareEstimators(scene, { estimators: estimatorNames, seed: cellSeed, trials });
      for (const { estimator, noiseEquivalentPx } of errors)
        if (noiseEquivalentPx)
          expect(text).toContain(`${estimatorLabels[estimator]} ${withError(noiseEquivalentPx)} px`);
    }));
});
