import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';

import { plainRig } from './plain-rig.ts';
import { answerHere, freshFolder, refusalHere, repository, runExample } from './run-example.ts';

const rigFile = (name: string) => join(repository, `examples/rigs/${name}.json`);

describe('the pick-off program', () => {
  test("takes the rig's own pick-off", async () => {
    const { text } = await answerHere('pickoff', ['--rig', rigFile('long-two-mirror'), '--steps', '2']);
    expect(text).toMatch(/: pick-off mirror of 12 x 10 mm, 63 mm in front of a sensor of 36 x 24 mm/);
    expect(text).toMatch(/^Inner edge 16\.0 mm from the axis: clear/m);
  });
  test('answers in words, with the best depth marked, error and focus limit of each depth, and the spikes of the edge', () => {
    const figure = join(freshFolder(), 'pickoff.svg');
    const { status, stdout, stderr } = runExample('pickoff', [
      '--distance',
      '40',
      '--steps',
      '4',
      '--figure',
      figure,
    ]);
    expect(stderr).toBe('');
    expect(status).toBe(0);
    expect(stdout).toMatch(/^Fast reflector.*: pick-off mirror of 10 x 8 mm, 40 mm in front of/m);
    expect(stdout).toMatch(/clear, as the worst pixel loses 2\.00 % of its light and 2\.00 % is allowed/);
    expect(stdout.match(/ best$/gm)).toHaveLength(1);
    const limits = [...stdout.matchAll(/^ +\d+\.\d .* (\d\.\d+) +(\d+) {2}(best|allowed|shades)$/gm)];
    const numbers = limits.map(([, noise, limit]) => ({ noise: Number(noise), limit: Number(limit) }));
    expect(numbers.length).toBeGreaterThanOrEqual(3);
    // Less light and more coma: the shallower, the larger the error and the nearer the limit.
    expect(numbers.at(-1)?.noise).toBeGreaterThan(numbers[0]?.noise ?? 0);
    expect(numbers.at(-1)?.limit).toBeLessThan(numbers[0]?.limit ?? 0);
    expect(stdout.replace(/\n {2}/g, ' ')).toMatch(
      /two spikes .*\. From 5 arcsec on they are \d\.\d mag fainter than the star in all/,
    );
    const svg = readFileSync(figure, 'utf8');
    expect(svg).toContain('noise-equivalent error, arcsec');
    expect(svg).toContain('spike, mag per square arcsec below the star');
    expect(stdout).toMatch(
      /^Coma 9\.24 µm long, astigmatism 9\.11 µm across; the main sensor's plane lies 0 µm/m,
    );
  });
  test('without a design the shape of the star is not known', async () => {
    const { text } = await answerHere('pickoff', ['--rig', plainRig('fast-reflector'), '--steps', '2']);
    expect(text).toMatch(/Its shape is not known: name the --design/);
  });
  test.each(['fast-reflector', 'long-two-mirror', 'refractor'])(
    '--json on %s is one JSON value',
    async (name) => {
      const at = ['--edge', '12', '--angle=0', '--steps', '3', '--json'];
      const { data } = await answerHere('pickoff', ['--rig', rigFile(name), ...at]);
      const { clearance, tradeOff, pickoff } = data;
      expect(pickoff.edgeFromAxisMm).toBe(12);
      expect(clearance.byRotation).toHaveLength(20);
      // On the short side, 11.75 mm from the axis, a mirror 12 mm from it shades.
      expect(clearance.isClear).toBe(false);
      expect(tradeOff.best.edgeFromAxisMm).toBeGreaterThan(12);
      expect(tradeOff.best.error.leastErrorArcsec).toBeGreaterThan(0);
    },
  );
  test('a design gives the shape of the star', async () => {
    const args = ['--design', 'paraboloid', '--edge=13', '--steps', '2', '--json'];
    const { clearance } = (await answerHere('pickoff', args)).data;
    const { offAxisMm, aberrations } = clearance.star;
    // 3 theta / (16 F^2) as a length: 3 h / (16 F^2) at F/4
    expect(aberrations.tangentialComaUm).toBeCloseTo((1000 * 3 * offAxisMm) / 256, 9);
  });
  test.each([
    [['--color'], /--color/],
    [['--sensor', '3'], /--sensor must be two numbers with an x between, as 10x8, got 3/],
    [['--mirror', '10x60'], /mirror\.depthMm must be <= the opening, 46, got 60/],
    [['--edge', '40'], /edgeFromAxisMm must be < [\d.]+, where the beam ends, got 40/],
    [['--angle', 'x'], /--angle must be a number, got x/],
    [['--design', 'none'], /--design must be one of paraboloid, .*, got none/],
    [
      ['--design', 'ritchey-chretien'],
      /--design ritchey-chretien needs --primary-ratio and --behind-primary/,
    ],
    [['--opening', '20', '--allowed-loss', '0'], /no depth gives the guide star light/],
    [['--rig', 'none.json'], /cannot read the rig: .*none\.json/],
  ])('%j cannot be used', async (args, message) => {
    expect(await refusalHere('pickoff', args)).toMatch(message);
  });
});
