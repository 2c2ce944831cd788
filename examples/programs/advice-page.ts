/** One page of advice for a night with a rig, with the exact inputs saved beside it. */
import { adviseNight, type NightAdvice, type Rig, version } from '@holdfast/sim';
import { estimatorLabels } from '@holdfast/sim/internal';
import { type AdviceSection, adviceSections } from '../reports/advice-lines.ts';
import { wrapped } from '../reports/wrapped-text.ts';
import { command } from './command-line/command.ts';
import { number, outFile } from './command-line/option.ts';
import { rig, seed, trials } from './command-line/shared-options.ts';
import { writeSafely } from './command-line/write-safely.ts';

/** What a page is made from: the same inputs make the same page. */
interface Inputs {
  readonly program: string;
  readonly version: string;
  readonly seed: string;
  readonly trials: number;
  readonly runs: number;
  readonly rig: Rig;
}

export const advicePage = command({
  name: 'advice-page',
  question:
    'One page of advice for a night: filters, the best guide focus, cooling, pick-off, guide star, focus runs.',
  options: {
    rig,
    trials,
    seed,
    runs: number('N', 'simulated runs through a focus run, 2 to 1000', {
      isWhole: true,
      low: 2,
      high: 1000,
      default: 8,
    }),
    out: outFile(
      'FILE',
      'write the page to FILE (as JSON with --out FILE.json), and the exact inputs to FILE.inputs.json',
    ),
  },
  notes: [
    'The rig in FILE.inputs.json has every default filled in. That rig (--rig) gives the same page again with the same ' +
      'seed, trials and runs. The page leaves out what the rig does not contain: temperature, pickoff, galacticLatitudeDeg, focuser.focusRun.',
  ],
  async run({ rig, seed, trials, runs, out }, { onProgress }) {
    const inputs: Inputs = { program: 'advice-page', version, seed, trials, runs, rig };
    const night = await adviseNight(rig, { seed, trials, runs, ...(onProgress ? { onProgress } : {}) });
    const sections = adviceSections(rig, night);
    const page = pageOf(inputs, night, sections);
    const data = { inputs, sections, night };
    if (out === undefined) return { data, text: () => page };
    save(out, out.endsWith('.json') ? JSON.stringify(data, undefined, 2) : page.join('\n'), inputs);
    return { data, text: () => [`Advice: ${out}`, `Its inputs: ${out}.inputs.json`] };
  },
});

function save(file: string, page: string, inputs: Inputs): void {
  const beside = `${file}.inputs.json`;
  // The inputs first: a page never stands without them.
  writeSafely(beside, `${JSON.stringify(inputs, undefined, 2)}\n`);
  writeSafely(file, `${page}\n`);
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
        `${budget.lostFractionPercent} % of guide frames give no position${budget.rmsErrorArcsec === undefined ? '' : `, a noise-equivalent error of ${budget.rmsErrorArcsec} arcsec`}.`,
      { rest: '' },
    ),
    ...sections.flatMap(({ title, lines }) => [
      '',
      title,
      ...lines.flatMap((line) => wrapped(line, { first: '- ' })),
    ]),
    '',
    ...wrapped(
      `± is one standard error (where none stands, it is less than half of the last digit), brackets are 95 % intervals; errors are noise-equivalent (scatter over response), 1 sigma, one axis. Shifts > 0: the guide sensor lies beyond its focus. ` +
        `holdfast ${version}, up to ${trials} frames per number (${bestGuideFocus.trials} per shift for the setting), ${runs} runs, seed ${seed}.`,
      { rest: '' },
    ),
  ];
}
