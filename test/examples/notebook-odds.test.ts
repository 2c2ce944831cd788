/** The notebook's odds of a guide star are those of the library in Node. */
import { guideStarLimit } from '@holdfast/sim';
import { guideStarOddsOf, significant } from '@holdfast/sim/internal';
import { expect, test } from 'vitest';
import { exampleRig, figureText, plain, seed, setControl, withNotebook } from './notebook-page.ts';

test('the faintest star and the odds, at once for another latitude', async () => {
  const complaints = await withNotebook(async (page) => {
    await setControl(page, 'oddsShift', 200);
    await page.locator('#faintest-star').scrollIntoViewIfNeeded();
    const caption = page.locator('#faintest-star figcaption');
    await expect.poll(() => caption.textContent()).toContain('256 simulated frames per magnitude');
    const limit = guideStarLimit(exampleRig, { focusShiftUm: 200, seed, trials: 256 });
    expect(plain(await figureText(page, 'faintest-star'))).toContain(
      `200 µm: usable to magnitude ${limit.usable?.magnitude.toFixed(1) ?? 'none'}`,
    );
    for (const galacticLatitudeDeg of [35, 80]) {
      await setControl(page, 'latitude', galacticLatitudeDeg);
      const { chances } = guideStarOddsOf(exampleRig, limit, { galacticLatitudeDeg });
      await expect
        .poll(() => figureText(page, 'odds-by-focus'))
        .toContain(`at galactic latitude ${galacticLatitudeDeg}°`);
      // The caption may still be that of the shift before: the first round has fewer frames.
      const lastRow = page.locator('#odds-of-a-star-table tbody tr.row').last();
      await expect
        .poll(async () => plain(await lastRow.textContent()))
        .toContain(significant(chances[0].expectedStars.value, 2));
    }
  });
  expect(complaints).toEqual([]);
});
