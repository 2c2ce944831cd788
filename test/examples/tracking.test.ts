import { mkdirSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { smallRig } from './plain-rig.ts';
import { answerHere, freshFolder, refusalHere, runExample } from './run-example.ts';

/** By rays where nothing is asked of the star's shape. */
const plain = ['--rig', smallRig('fast-reflector')];
const quick = ['--runs', '2', '--duration', '400'];
const json = async (args: readonly string[]) =>
  (await answerHere('tracking', [...quick, '--json', ...args])).data;

describe('guiding through an event, from the command line', () => {
  const folder = freshFolder();
  const first = runExample('tracking', [...quick, ...plain, '--figure', 'track.svg'], folder);
  test('compares the ways of guiding, tells what the picture gets, and how the numbers came about', () => {
    expect(first.stderr).toBe('');
    expect(first.status).toBe(0);
    expect(first.stdout).toMatch(
      /^Fast reflector, 200 mm F\/4: guiding through a focus run from -160 to 160 µm/,
    );
    for (const way of ['pause, old set point', 'pause, new set point', 'carry on', 'without the event'])
      expect(first.stdout).toMatch(new RegExp(`^${way} +\\d`, 'm'));
    expect(first.stdout).toMatch(/^125 to 245 \* +\d/m);
    expect(first.stdout).toMatch(/ costs? the picture least/m);
    expect(first.stdout).toMatch(/^2 runs, seed 1; /m);
    expect(first.stdout).toMatch(/^Not in these numbers: /m);
    expect(first.stdout).not.toMatch(/NaN|undefined|Infinity/);
  });
  test('gives the same text again, and another with another seed', async () => {
    const textOf = async (...args: readonly string[]) =>
      (await answerHere('tracking', [...quick, ...plain, '--figure', 'track.svg', ...args])).text.trim();
    expect(await textOf()).toBe(first.stdout.trim());
    expect(await textOf('--seed', 'other')).not.toBe(first.stdout.trim());
  });
  test.each(['long-two-mirror', 'refractor'])(
    '--json on %s is one value, with the first run in time',
    async (name) => {
      const { event, ways } = await json(['--rig', smallRig(name)]);
      expect(event.kind).toBe('focus-run');
      expect(ways.map((way: { name: string }) => way.name)).toEqual([
        'pause, old set point',
        'pause, new set point',
        'carry on',
      ]);
      const [paused, , carryOn] = ways.map((way: { result: unknown }) => way.result);
      expect(paused.series.errorX.length).toBe(paused.durationS / paused.stepS);
      expect(paused.series.frames.state).toContain(1);
      expect(carryOn.series.frames.state).not.toContain(1);
      expect(paused.events[0].during.rmsX.value).toBeGreaterThan(carryOn.events[0].during.rmsX.value);
      expect(paused.events[0].during.rmsX.standardError).toBeGreaterThan(0);
      expect(paused.events[0].duringWithout).toEqual(carryOn.events[0].duringWithout);
      expect(paused.picture.length).toBe(3);
    },
  );
  test('a filter change by name, with a clipped star that walks; a lost star; no event', async () => {
    const change = await json([
      '--rig',
      smallRig('fast-reflector', ['Luminance', 'H-alpha']),
      '--event',
      'filter-change',
      '--filter',
      'H-alpha',
      '--clip',
      '0.6',
    ]);
    expect(change.event).toEqual({ kind: 'filter-change', startS: 180, withoutStarS: 8, focusShiftUm: 180 });
    const [old, fresh] = change.ways.map((way: { result: unknown }) => way.result);
    const walked = 180 * old.walkArcsecPerUm.x;
    expect(Math.abs(walked)).toBeGreaterThan(0.3);
    expect(Math.abs(old.events[0].offsetLeft.meanX.value + walked)).toBeLessThan(0.3 * Math.abs(walked));
    expect(fresh.walkArcsecPerUm).toEqual(old.walkArcsecPerUm);
    const lost = await json([...plain, '--event', 'no-star', '--seconds', '20', '--measurement', 'gaussian']);
    expect(lost.event.durationS).toBe(20);
    const none = await answerHere('tracking', [...quick, ...plain, '--event', 'none']);
    expect(none.text).toMatch(/^guided +\d/m);
  });
  test('draws a figure that stands alone', () => {
    expect(readdirSync(folder)).toEqual(['track.svg']);
    const svg = readFileSync(join(folder, 'track.svg'), 'utf8');
    expect(svg).toMatch(/^<svg [^>]*xmlns="http:\/\/www\.w3\.org\/2000\/svg"/);
    expect(svg).toMatch(/aria-label="[^"]*guiding through a focus run: rms position errors[^"]*carry on/);
    expect(svg).not.toMatch(/NaN|undefined/);
    for (const words of [
      'off the set point, arcsec',
      'focus, µm',
      'growth, %',
      'time, s',
      'pause, new set point',
    ])
      expect(svg).toContain(words);
  });
});

describe('what cannot be used is named', () => {
  test.each<[string[], RegExp]>([
    [['--event', 'dance'], /--event must be one of focus-run, filter-change, no-star, none, got dance/],
    [['--at=-5'], /events\[0\]\.startS must be a finite number >= 0, got -5/],
    [['--at', '590'], /events\[0\] must be over by durationS = 600 s/],
    [['--gain', '2.5'], /loop\.proportionalGain must be in \(0, 2\.000\).*got 2\.5/],
    [['--filter', 'Red'], /--filter belongs to --event filter-change, got --event focus-run/],
    [['--event', 'filter-change', '--filter', 'Pink'], /--filter must be one of Luminance, Red.*got "Pink"/],
    [['--clip', '2'], /clipDistance must be in \(-1, 1\], got 2/],
  ])('%j', async (args, message) => {
    expect(await refusalHere('tracking', args)).toMatch(message);
  });
  test('a figure that cannot be written', async () => {
    const folder = freshFolder();
    mkdirSync(join(folder, 'taken.svg'));
    const args = [...quick, '--figure', 'taken.svg'];
    expect(await refusalHere('tracking', args, folder)).toMatch(/cannot write taken\.svg/);
  });
});
