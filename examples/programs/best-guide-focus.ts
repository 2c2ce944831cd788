/** At which one setting of the guide camera do all filters stay as safe as they can? */
import {
  type BestGuideFocus,
  bestGuideFocus,
  estimatorNames,
  type GuideFocusSetting,
  type Rig,
  thermalDrift,
} from '@holdfast/sim';
import { estimatorLabels } from '@holdfast/sim/internal';
import { drivenByTemperature, guideFocusLines } from '../reports/guide-focus-text.ts';
import { intervalText, percentText, signedUm } from '../reports/quantity-text.ts';
import { textTable } from '../reports/text-table.ts';
import { wrapped } from '../reports/wrapped-text.ts';
import { progressLine } from './command-line/progress-line.ts';
import { readRig } from './command-line/read-rig.ts';
import { readRigCommand, rigHelpLines, wordOption } from './command-line/rig-command.ts';
import { runProgram } from './command-line/run-program.ts';

const help = `At which one setting of the guide camera do all filters stay as safe as they can?

  node examples/dist/programs/best-guide-focus.js [options]

  --aim AIM        worst: the filter that is worst off spends as little of the budget as can be; mean: the average
                   over the minutes of exposure does. Default: worst
  --estimator NAME ${estimatorNames.join(', ')}.
                   Default: the rig's
${rigHelpLines}

Ends with 0 when it has answered, 2 when the rig or an option is not usable, 1 when something else failed.`;

runProgram(async (args) => {
  const { rig: file, seed, trials, json, help: asked, own } = readRigCommand(args, ['aim', 'estimator']);
  if (asked) {
    console.log(help);
    return;
  }
  const aim = wordOption('aim', own.aim ?? 'worst', ['worst', 'mean']);
  const named =
    own.estimator === undefined ? {} : { estimator: wordOption('estimator', own.estimator, estimatorNames) };
  const rig = readRig(file);
  const progress = progressLine(process.stderr);
  const best = await bestGuideFocus(rig, {
    seed,
    trials,
    aim,
    ...named,
    onProgress: progress.update,
  }).finally(progress.clear);
  console.log(json ? JSON.stringify(best, undefined, 2) : textOf(rig, best).join('\n'));
});

function textOf(rig: Rig, best: BestGuideFocus): string[] {
  const { partial, estimator, aim, trials, seed } = best;
  const drift = thermalDrift(rig);
  return [
    `${rig.name}: guide star of V ${rig.guideStar.magnitude}, ${estimatorLabels[estimator]}, guide camera now at ` +
      `${signedUm(rig.guideFocusShiftUm)} um`,
    '',
    ...guideFocusLines(best).flatMap((line) => wrapped(line)),
    ...(drift ? ['', ...wrapped(drivenByTemperature(drift))] : []),
    '',
    partial ? 'At the setting for all filters:' : 'At this setting:',
    ...tableOf(best),
    ...(partial ? ['', `At the setting without ${partial.leavesOut.join(', ')}:`, ...tableOf(partial)] : []),
    '',
    ...wrapped(
      `${aim === 'worst' ? 'Made as small as can be: the share of the budget of the filter that is worst off' : 'Made as small as can be: the mean share of the budget over the minutes of exposure'}. ` +
        `Shares are of the worst moment of the night; brackets hold 95 %: of chance in ${trials} frames a shift, seed ${seed}, ` +
        'not of the shifts themselves.',
    ),
  ];
}

function tableOf({ filters }: GuideFocusSetting): string[] {
  return textTable([
    ['filter', 'focus shift', 'share of the budget'],
    ['', 'um', '%'],
    ...filters.map(({ filter, lowUm, highUm, share }) => [
      filter,
      lowUm === highUm ? signedUm(lowUm) : `${signedUm(lowUm)} to ${signedUm(highUm)}`,
      intervalText(share, percentText),
    ]),
  ]);
}
