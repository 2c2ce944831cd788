/** One page of advice for a night with a rig, with the exact inputs saved beside it. */
import { statSync } from 'node:fs';
import { dirname } from 'node:path';
import { adviseNight, type NightAdvice, type Rig, version } from '@holdfast/sim';
import { estimatorLabels } from '@holdfast/sim/internal';
import { type AdviceSection, adviceSections } from '../reports/advice-lines.ts';
import { wrapped } from '../reports/wrapped-text.ts';
import { UnusableInput } from './command-line/command-line.ts';
import { progressLine } from './command-line/progress-line.ts';
import { readRig } from './command-line/read-rig.ts';
import { readRigCommand, rigHelpLines } from './command-line/rig-command.ts';
import { runProgram } from './command-line/run-program.ts';
import { isSpecial, writeSafely } from './command-line/write-safely.ts';

const help = `One page of advice for a night: filters, the best guide focus, cooling, pick-off, guide star, focus runs.

  node examples/dist/programs/advice-page.js [options]

  --runs N         simulated runs through a focus run, 2 to 1000. Default 8
  --out FILE       write the page to FILE (as JSON with --json), and the exact inputs to FILE.inputs.json
${rigHelpLines}

The rig in FILE.inputs.json has every default filled in; given as --rig with the same seed, trials and runs it makes the same
page again. What a rig does not name is left out: temperature, pickoff, galacticLatitudeDeg, focuser.focusRun.

Ends with 0 when it has answered, 2 when the rig, an option or the file is not usable, 1 when something else failed.`;

/** What a page is made from: the same inputs make the same page. */
interface Inputs {
  readonly program: string;
  readonly version: string;
  readonly seed: string;
  readonly trials: number;
  readonly runs: number;
  readonly rig: Rig;
}

runProgram(async (args) => {
  const { rig: file, seed, trials, json, help: asked, own } = readRigCommand(args, ['runs', 'out']);
  if (asked) {
    console.log(help);
    return;
  }
  const runs = runsOf(own.runs ?? '8');
  const rig = readRig(file);
  const inputs: Inputs = { program: 'advice-page', version, seed, trials, runs, rig };
  if (own.out !== undefined) requireFolder(own.out);
  const progress = progressLine(process.stderr);
  const night = await adviseNight(rig, { seed, trials, runs, onProgress: progress.update }).finally(
    progress.clear,
  );
  const sections = adviceSections(rig, night);
  const page = json
    ? JSON.stringify({ inputs, sections, night }, undefined, 2)
    : pageOf(inputs, night, sections).join('\n');
  if (own.out === undefined) console.log(page);
  else save(own.out, page, inputs);
});

/** Half a minute of work is not thrown away for want of a folder. @throws UnusableInput */
function requireFolder(file: string): void {
  const folder = dirname(file);
  if (!statSync(folder, { throwIfNoEntry: false })?.isDirectory())
    throw new UnusableInput(`cannot write ${file}: ${folder} is no folder`);
  if (isSpecial(file)) throw new UnusableInput(`--out must be a file, got ${file}`);
}

function save(file: string, page: string, inputs: Inputs): void {
  const beside = `${file}.inputs.json`;
  // The inputs first: a page never stands without them.
  writeSafely(beside, `${JSON.stringify(inputs, undefined, 2)}\n`);
  writeSafely(file, `${page}\n`);
  console.log(`Advice: ${file}\nIts inputs: ${beside}`);
}

function runsOf(text: string): number {
  const runs = Number(text);
  if (!Number.isInteger(runs) || runs < 2 || runs > 1000)
    throw new UnusableInput(`--runs must be a whole number from 2 to 1000, got ${text}`);
  return runs;
}

function pageOf(
  { rig, seed, trials, runs }: Inputs,
  { estimator, bestGuideFocus }: NightAdvice,
  sections: readonly AdviceSection[],
): string[] {
  const { guideStar, guideCamera, budget, sky } = rig;
  return [
    rig.name,
    ...wrapped(
      `Guide star of V ${guideStar.magnitude}, frames of ${guideCamera.exposureS} s, ${estimatorLabels[estimator]}, seeing ` +
        `${sky.seeingFwhmArcsec} arcsec. Allowed: stars of the picture grow by ${budget.fwhmGrowthPercent} %, ` +
        `${budget.lostFractionPercent} % of guide frames give no position${budget.rmsErrorArcsec === undefined ? '' : `, ${budget.rmsErrorArcsec} arcsec rms`}.`,
      { rest: '' },
    ),
    ...sections.flatMap(({ title, lines }) => [
      '',
      title,
      ...lines.flatMap((line) => wrapped(line, { first: '- ' })),
    ]),
    '',
    ...wrapped(
      `± is one standard error, brackets hold 95 %; errors are rms, one axis. Shifts > 0: the guide sensor lies beyond its focus. ` +
        `holdfast ${version}, ${trials} frames a number (${bestGuideFocus.trials} a shift for the setting), ${runs} runs, seed ${seed}.`,
      { rest: '' },
    ),
  ];
}
