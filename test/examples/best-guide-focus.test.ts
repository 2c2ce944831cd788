import { readFileSync } from 'node:fs';
import { beforeAll, describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';
import { plainRig } from './plain-rig.ts';
import { answerHere, type Run, refusalHere, runExample } from './run-example.ts';

const quick = ['--trials', '64'];
// On the axis the star is alike on both sides of focus.
const rigFile = plainRig;

describe('the best setting of the guide camera', () => {
  let run: Run;
  beforeAll(() => {
    run = runExample('best-guide-focus', ['--rig', rigFile('fast-reflector'), ...quick]);
  });
  test('says what to set, for which filters, and how much room is left', () => {
    expect(run.stderr).toBe('');
    expect(run.status).toBe(0);
    const text = run.stdout.replace(/\s+/g, ' ');
    // Extremes without O III and No filter: -60 - 24.4 and 180 um; with them -1020 - 24.4 and 180 um.
    expect(text).toMatch(
      /Set the guide camera to -48\.0 µm \(95 % interval -48\.5 to -47\.5 µm; 48\.0 µm toward the telescope\), and refocus it for O III and No filter alone/,
    );
    expect(text).toMatch(
      /Room left to the focus limit: \d+(\.\d)? µm ahead of focus \(95 % interval .* µm\), .* µm beyond it/,
    );
    expect(text).toMatch(
      /No single setting suits all filters: with any, one of them takes more than 10 times the budget\./,
    );
  });
  test('and what the cooling tube does', () => {
    const text = run.stdout.replace(/\s+/g, ' ');
    // 800 mm * (23.6 - 3.3) 1e-6 / K; quarter wave of 550 nm at F/4: 17.6 um
    expect(text).toMatch(/The focus moves by 16\.2 µm per kelvin \(one mirror or lens\)/);
    expect(text).toMatch(
      /the focus of both cameras drifts by -24\.4 µm\. A refocus of the main camera brings back both/,
    );
    expect(text).toMatch(/a quarter of a wave, 17\.6 µm\) after 1\.1 K/);
  });
  test.each(['fast-reflector', 'long-two-mirror', 'refractor'])('--json on %s', async (name) => {
    const best = (await answerHere('best-guide-focus', ['--rig', rigFile(name), '--json', ...quick])).data;
    const low = Math.min(...best.filters.map(({ lowUm }: { lowUm: number }) => lowUm));
    const high = Math.max(...best.filters.map(({ highUm }: { highUm: number }) => highUm));
    // A round star: minus the middle of the range is best, so the extremes stand equally far from focus.
    expectWithin(low + high, 0, 1, 'half a µm of resolution on either side');
    expect(best.filters).toHaveLength(JSON.parse(readFileSync(rigFile(name), 'utf8')).filters.length);
    expect(best.worstShare.low).toBeLessThanOrEqual(best.worstShare.value);
    expect(best.cost.value).toBeLessThan(best.costNow);
  });
  test('--aim mean and --estimator give another answer', async () => {
    const args = ['--aim', 'mean', '--estimator', 'centerOfMass', '--json', ...quick];
    const best = (await answerHere('best-guide-focus', args)).data;
    expect(best).toMatchObject({ aim: 'mean', estimator: 'centerOfMass' });
    expect(best.settingUm.value).not.toBe(432);
  });
  test.each([
    [['--aim', 'least'], /--aim must be one of worst, mean, got least/],
    [['--estimator', 'guess'], /--estimator must be one of centerOfMass, .*, got guess/],
    [['--trials', 'many'], /--trials must be a whole number from 64 to 1000000, got many/],
    [['--color'], /--color/],
  ])('%j cannot be used', async (args, message) => {
    expect(await refusalHere('best-guide-focus', args)).toMatch(message);
  });
});
