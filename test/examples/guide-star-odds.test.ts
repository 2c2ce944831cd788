import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { smallRig } from './plain-rig.ts';
import { answerHere, freshFolder, refusalHere, repository, runExample } from './run-example.ts';

const rigFile = (name: string) => join(repository, `examples/rigs/${name}.json`);
const quick = ['--trials', '64'];

describe('the guide-star program', () => {
  test('answers in words: the faintest star, and the odds by latitude with their intervals', () => {
    const { status, stdout, stderr } = runExample('guide-star-odds', [...quick, '--off-axis', '17']);
    expect(stderr).toBe('');
    expect(status).toBe(0);
    expect(stdout).toMatch(/^Faintest guide star: V \d+\.\d \(SNR \d+/m);
    expect(stdout).toMatch(/^ *90 +[\d.]+ +[\d.]+ \[[\d.]+, [\d.]+\]/m);
    expect(stdout).toMatch(
      /Bahcall & Soneira 1980.*scaled to the number of stars in all directions; known to a factor 1\.25/,
    );
    expect(stdout).toMatch(/one in a turn/);
  });
  test.each(['fast-reflector', 'long-two-mirror', 'refractor'])(
    '--json on %s is one JSON value',
    async (name) => {
      const args = ['--rig', rigFile(name), '--json', ...quick];
      const { limit, odds, turns } = (await answerHere('guide-star-odds', args)).data;
      const own = JSON.parse(readFileSync(rigFile(name), 'utf8')).galacticLatitudeDeg;
      expect(turns).toBeUndefined();
      expect(limit.measured.magnitude).toBeLessThanOrEqual(limit.leastError.magnitude);
      expect(odds.map((at: { galacticLatitudeDeg: number }) => at.galacticLatitudeDeg)).toEqual(
        [...new Set([0, 10, 20, 30, 60, 90, own])].sort((a, b) => a - b),
      );
      for (const { chances } of odds)
        for (const { atLeastOne } of chances) {
          // Near certainty the mean is ruled by the far tail and may lie a hair below the interval.
          expect(atLeastOne.low).toBeLessThanOrEqual(atLeastOne.value + 1e-6);
          expect(atLeastOne.high).toBeGreaterThanOrEqual(atLeastOne.value);
        }
    },
  );
  test('the same seed gives the same text', async () => {
    const args = ['--rig', smallRig('fast-reflector'), '--latitude', '60', ...quick];
    const { text } = await answerHere('guide-star-odds', args);
    expect((await answerHere('guide-star-odds', args)).text).toBe(text);
  });
  test("counts on a star list of one's own, turn by turn", async () => {
    const folder = freshFolder();
    // 1 degree north, and 1 degree west at declination 60, of a target at 10 h 40 m
    writeFileSync(join(folder, 'stars.csv'), 'ra,dec,mag\n160,61,9.5\n158,60,8.2\n160,61.01,24\n');
    const args = [
      '--stars',
      'stars.csv',
      '--ra',
      '160',
      '--dec',
      '60',
      '--off-axis',
      '13.96',
      ...quick,
      '--json',
    ];
    const { turns } = (await answerHere('guide-star-odds', args, folder)).data;
    expect(turns).toHaveLength(36);
    const at = (angle: number) =>
      turns.find((turn: { positionAngleDeg: number }) => turn.positionAngleDeg === angle).stars;
    expect(at(0).map((star: { magnitude: number }) => star.magnitude)).toEqual([9.5]);
    expect(at(270).map((star: { magnitude: number }) => star.magnitude)).toEqual([8.2]);
    expect(at(90)).toEqual([]);
  });
  test('what cannot be used is named', async () => {
    const folder = freshFolder();
    writeFileSync(join(folder, 'bad.csv'), 'ra,dec,mag\n1,2,three\n');
    const list = ['--stars', 'bad.csv', '--ra', '1', '--dec', '2', '--off-axis', '10'];
    for (const [args, message] of [
      [['--latitude', '100'], /galacticLatitudeDeg must be in \[-90, 90\], got 100/],
      [['--kept', '0'], /keptFraction must be in \(0, 1\], got 0/],
      [['--positions', '1,x'], /--positions must be numbers with commas between, got 1,x/],
      [['--trials', '0'], /trials must be/],
      [['--stars', 'bad.csv'], /--stars needs --ra, --dec and --off-axis/],
      [
        ['--stars', 'no.csv', '--ra', '1', '--dec', '2', '--off-axis', '10'],
        /cannot read the star list: .*no\.csv/,
      ],
      [list, /the star list, line 2: mag must be a number, got three/],
    ] as const)
      expect(await refusalHere('guide-star-odds', [...quick, ...args], folder)).toMatch(message);
  });
});
