/**
 * The one program: every question, its help from its table of options, and the answer about one ring without
 * any file.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { parseRig } from '@holdfast/sim';
import { beforeAll, describe, expect, test } from 'vitest';
import { helpOf } from '../../examples/dist/programs/command-line/help-text.js';
import { optionName, readOptions } from '../../examples/dist/programs/command-line/read-options.js';
import { terminalText } from '../../examples/dist/programs/command-line/terminal-letters.js';
import { commands } from '../../examples/dist/programs/commands.js';
import { smallRig } from './plain-rig.ts';
import { answerHere, freshFolder, type Run, refusalHere, repository, runHoldfast } from './run-example.ts';

const seen = ['--aperture', '120', '--focal-length', '840', '--pixel', '2.9'];
const quick = ['--trials', '64'];

describe('every question', () => {
  test.each(commands.map(({ name }) => name))(
    '%s: help names each option, its default and its value',
    async (name) => {
      const command = await commands.find((each) => each.name === name)!.load();
      expect(command.name).toBe(name);
      const help = helpOf(command);
      for (const [option, { value, otherwiseText }] of Object.entries(command.options)) {
        expect(help).toContain(`--${optionName(option)}${value ? ` ${value}` : ''}`);
        if (otherwiseText) expect(help.replace(/\s+/g, ' ')).toContain(`Default: ${otherwiseText}`);
      }
      for (const line of help.split('\n')) expect(line.length).toBeLessThanOrEqual(110);
    },
  );
  test.each(commands.map(({ name }) => name))('%s refuses what it does not know', async (name) => {
    const command = await commands.find((each) => each.name === name)!.load();
    expect(() => readOptions(command, ['--color'])).toThrow(/--color[\s\S]*Try --help/);
    const { seed, rig } = command.options;
    if (seed) expect(() => readOptions(command, ['--seed', '']).values()).toThrow('--seed must not be empty');
    if (rig)
      expect(() => readOptions(command, ['--rig', 'none.json']).values()).toThrow(
        /cannot read the rig: .*none\.json/,
      );
  });
  test('has its npm run name', () => {
    const { scripts, bin } = JSON.parse(readFileSync(join(repository, 'package.json'), 'utf8'));
    for (const { name } of commands)
      expect(scripts[name === 'refocus' ? 'start' : name]).toBe(
        `node ${bin.holdfast}${name === 'refocus' ? '' : ` ${name}`}`,
      );
  });
  test('a question that is not there names those that are', () => {
    const { status, stdout, stderr } = runHoldfast(['nonsense']);
    expect(status).toBe(2);
    expect(stdout).toBe('');
    expect(stderr).toMatch(/"nonsense" must be one of refocus, frames, .*star-shapes/);
  });
  test('help lists the other questions', () => {
    const { status, stdout } = runHoldfast(['--help']);
    expect(status).toBe(0);
    for (const { name } of commands.slice(1)) expect(stdout).toContain(`holdfast ${name} `);
    expect(runHoldfast(['help']).stdout).toBe(stdout);
    expect(runHoldfast(['help', 'sweep']).stdout).toBe(runHoldfast(['sweep', '--help']).stdout);
  });
});

describe('one ring, from what one sees', () => {
  const folder = freshFolder();
  let run: Run;
  beforeAll(() => {
    run = runHoldfast(
      ['--ring', '22', ...seen, '--magnitude', '13', '--save-rig', 'my.json', ...quick],
      folder,
    );
  });
  test('the verdict first, then how far, then why', () => {
    expect(run.stderr).toBe('');
    expect(run.status).toBe(0);
    const text = run.stdout.replace(/\s+/g, ' ');
    expect(text).toMatch(
      /^(KEEP|TRIM: .*|REFOCUS)\. Your star stays usable up to a ring of [\d.]+ px \(95 % interval [\d.]+ to [\d.]+ px\), \d+ µm either side of focus\./,
    );
    // 22 px x 2.9 um x f/7
    expect(text).toMatch(/At 22\.0 px \(447 µm\): .* \(allowed /);
  });
  test('every letter that it writes has its ASCII form', () => {
    expect(run.stdout).toMatch(/[^\n -~]/);
    expect(terminalText(run.stdout, { LC_ALL: 'C' })).toMatch(/^[\n -~]+$/);
  });
  test('says what was assumed, and what the three most important assumptions move', () => {
    const moves = run.stdout.match(/^ {2}\S.* assumed: \S+ to \S.*\bmoves the\b/gm);
    expect(moves).toHaveLength(3);
    expect(run.stdout).toMatch(/read noise 3 e⁻ assumed: 1 to 5 e⁻ moves the limit from \d+ to \d+ px/);
    expect(run.stdout.replace(/\s+/g, ' ')).toMatch(/Also assumed: central obstruction 0, .*seeing 2\.5″/);
    expect(run.stdout).not.toMatch(/guide star \S+ mag assumed/);
  });
  test('writes the rig and nothing else; the rig gives the same answer', async () => {
    expect(readdirSync(folder)).toEqual(['my.json']);
    const text = readFileSync(join(folder, 'my.json'), 'utf8');
    expect(parseRig(text).guideFocusShiftUm).toBeCloseTo(446.6, 9);
    const again = await answerHere('refocus', ['--rig', 'my.json', '--ring', '22', ...quick], folder);
    expect(run.stdout.startsWith(again.text.trimEnd())).toBe(true);
  });
  test('--json holds verdict, limit and what the assumptions move', async () => {
    const args = ['--ring', '22', ...seen, '--snr', '30', ...quick, '--json'];
    const { advice, limit, assumptions, effects, absFocusShiftUm } = (
      await answerHere('refocus', args, folder)
    ).data;
    expect(absFocusShiftUm).toBeCloseTo(446.6, 9);
    expect(advice.assessment.scene.snr).toBeCloseTo(30, 0);
    expect(limit.ringDiameterPx.value).toBeGreaterThan(0);
    expect(effects).toHaveLength(3);
    expect(assumptions.map(({ field }: { field: string }) => field)).not.toContain('guideStar.magnitude');
  });
  test.each([
    [['--ring', '22'], /--aperture, --focal-length, --pixel must be given, too/],
    [['--ring', '22', '--aperture', '120', '--focal-length', '840'], /^--pixel must be given, too/],
    [['--aperture', '840', '--focal-length', '120', '--pixel', '2.9'], /--focal-length .*swapped\?/],
    [['--ring', '-3', ...seen], /--ring must be from 0 to 300, got -3/],
    [
      ['--ring', '22', ...seen, '--magnitude', '9', '--snr', '3'],
      /--snr must be left out, since --magnitude/,
    ],
    [['--ring', '22', ...seen, '--set', 'guideCamera.readNoise=2'], /did you mean readNoiseE\?/],
    [['--ring', '22', ...seen, '--set', 'x'], /--set must be FIELD=VALUE/],
    [['--rig', 'my.json', '--aperture', '3'], /--aperture must be left out, since --rig gives the rig/],
    [['--save-rig', 'x.json'], /--save-rig needs --aperture/],
    [['--trials', '64', '--trials', '65', ...seen], /--trials must be given once, got 64 and 65/],
  ])('%j cannot be used', async (args, message) => {
    expect(await refusalHere('refocus', args, folder)).toMatch(message);
  });
});

describe('letters', () => {
  const text = 'read noise 3 e⁻ ± 1, seeing 2.5″, 446 µm, −20 °C, 640 × 480';
  test('a UTF-8 or unnamed locale shows them all', () => {
    for (const environment of [{}, { LANG: 'de_AT.UTF-8' }, { LANG: 'C.utf8' }, { LC_ALL: '', LANG: '' }])
      expect(terminalText(text, environment)).toBe(text);
  });
  test('a locale without UTF-8 gets ASCII', () => {
    for (const environment of [{ LANG: 'C' }, { LC_ALL: 'POSIX', LANG: 'en_US.UTF-8' }, { LANG: 'en_US' }])
      expect(terminalText(text, environment)).toBe(
        'read noise 3 e- +- 1, seeing 2.5 arcsec, 446 um, -20 deg C, 640 x 480',
      );
  });
  test('the program follows its locale', () => {
    const cell = ['--axis', 'focusShiftUm=0', '--axis', 'estimator=centerOfMass', '--workers', '1'];
    const print = (locale: string) =>
      runHoldfast(['sweep', '--rig', smallRig('refractor'), ...cell, ...quick], freshFolder(), {
        LC_ALL: locale,
      }).stdout;
    expect(print('C')).toMatch(/^[\n -~]+$/);
    expect(print('C.UTF-8')).toContain('µm');
  });
});
