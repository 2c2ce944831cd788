import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';
import { answerHere, freshFolder, type Run, refusalHere, repository, runExample } from './run-example.ts';

const quick = ['--trials', '64'];
const rigFile = (name: string) => join(repository, `examples/rigs/${name}.json`);

describe('changes of the filter', () => {
  let run: Run;
  beforeAll(() => {
    run = runExample('filters', quick);
  });
  test('from each filter to the next, with steps, shift, ring, error and outcome', () => {
    expect(run.stderr).toBe('');
    expect(run.status).toBe(0);
    expect(run.stdout).toMatch(
      /^Blue +H-alpha +\+240 +96 +-60\.0 to \+180 +4\.0 to 12\.0 +28 +0\.\d\d +0\.7\d +keep$/m,
    );
    expect(run.stdout).toMatch(/^No filter +Luminance +\+1020 +408 +-1020 to 0 .* keep$/m);
    expect(run.stdout).not.toMatch(/^Red +Blue /m);
  });
  test('the reason for each filter, and what to do on arrival', () => {
    expect(run.stdout).toMatch(
      /^No filter: refocus; the method does not follow the star; none of the 550 combinations/m,
    );
    expect(run.stdout).toMatch(
      /^On arrival at No filter: move the guide camera by \d+ µm or more away from the telescope/m,
    );
  });
  test('--to keeps the changes to one filter, --json gives them as one value', async () => {
    const args = ['--rig', rigFile('long-two-mirror'), '--to', 'S II', '--json', ...quick];
    const { changes, filters } = (await answerHere('filters', args)).data;
    expect(changes.map(({ to }: { to: string }) => to)).toEqual(Array(5).fill('S II'));
    // The rig gives its filters in steps of 2.5 um.
    expect(changes[0]).toMatchObject({ from: 'Luminance', moveUm: 420, moveSteps: 168 });
    for (const change of changes) expectWithin(change.moveUm, change.moveSteps * 2.5, 1e-9, 'rounding');
    expect(filters).toHaveLength(6);
  });
  test('--all has every change, a rig without a focuser no steps', async () => {
    const folder = freshFolder();
    const rig = {
      name: 'Plain rig',
      telescope: { apertureMm: 150, focalLengthMm: 750, obstructionRatio: 0.3 },
      guideCamera: { pixelSizeUm: 4, exposureS: 2, readNoiseE: 2 },
      mainCamera: { pixelSizeUm: 4 },
      sky: { seeingFwhmArcsec: 2.5 },
      guideStar: { magnitude: 12 },
      filters: [
        { name: 'Luminance', glass: { thicknessMm: 2, index: 1.5168 } },
        { name: 'Red', glass: { thicknessMm: 2.05, index: 1.5168 } },
        { name: 'Blue', glass: { thicknessMm: 1.95, index: 1.5168 } },
      ],
    };
    writeFileSync(join(folder, 'rig.json'), JSON.stringify(rig));
    const { text } = await answerHere('filters', ['--rig', 'rig.json', '--all', ...quick], folder);
    expect(text).not.toContain('steps');
    // 0.05 mm of n = 1.5168: 17.04 um
    expect(text).toMatch(/^Luminance +Red +\+17\.0 +0 to \+17\.0 /m);
    expect(text.match(/ keep$/gm)).toHaveLength(6);
  });
});

describe('what cannot be used is named', () => {
  test.each([
    [['--color'], /--color/],
    [['--to', 'Infrared'], /--to must be one of Luminance, .*No filter, got Infrared/],
    [['--trials', '3'], /--trials must be a whole number from 64 to 1000000, got 3/],
    [['--rig', 'none.json'], /cannot read the rig: .*none\.json/],
    [['--seed', ''], /--seed must not be empty/],
  ])('%j', async (args, message) => {
    expect(await refusalHere('filters', args)).toMatch(message);
  });
  test('a rig with two ways of giving a shift', async () => {
    const folder = freshFolder();
    const rig = {
      filters: [{ name: 'Red', focusShiftUm: 3, focuserSteps: 2 }],
      referenceFilter: 'Luminance',
    };
    writeFileSync(join(folder, 'rig.json'), JSON.stringify(rig));
    const message = await refusalHere('filters', ['--rig', 'rig.json'], folder);
    expect(message).toMatch(
      /filters\[0\]\.focuserSteps: must be left out, since focusShiftUm gives the shift, got 2/,
    );
    expect(message).toMatch(/focuser: must be given, since filters\[0\] is given in steps, got nothing/);
    expect(message).toMatch(/referenceFilter: must be one of Red, got "Luminance"/);
    expect(message).toMatch(/telescope: must be given/);
  });
});
