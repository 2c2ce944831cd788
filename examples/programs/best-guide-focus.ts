/** Which single focus of the guide camera suits all filters best? */
import {
  type BestGuideFocus,
  bestGuideFocus,
  type GuideFocusSetting,
  type Rig,
  thermalDrift,
} from '@holdfast/sim';
import { estimatorLabels, farOutside } from '@holdfast/sim/internal';
import { drivenByTemperature, guideFocusLines } from '../reports/guide-focus-text.ts';
import { intervalText, shareText, signedUm } from '../reports/quantity-text.ts';
import { textTable } from '../reports/text-table.ts';
import { wrapped } from '../reports/wrapped-text.ts';
import { command } from './command-line/command.ts';
import { word } from './command-line/option.ts';
import { estimator, rig, seed, trials } from './command-line/shared-options.ts';

export const bestFocus = command({
  name: 'best-guide-focus',
  question: 'Which single focus of the guide camera suits all filters best?',
  options: {
    rig,
    trials,
    seed,
    aim: word(
      'AIM',
      'worst: the setting that keeps the worst filter furthest inside its budget; mean: the one with the least average ' +
        'share of the budget over the minutes of exposure',
      ['worst', 'mean'],
      { default: 'worst' },
    ),
    estimator,
  },
  async run({ rig, seed, trials, aim, estimator }, { onProgress }) {
    const named = estimator === undefined ? {} : { estimator };
    const best = await bestGuideFocus(rig, {
      seed,
      trials,
      aim,
      ...named,
      ...(onProgress ? { onProgress } : {}),
    });
    return { data: best, text: () => textOf(rig, best) };
  },
});

function textOf(rig: Rig, best: BestGuideFocus): string[] {
  const { partial, estimator, aim, trials, seed } = best;
  const drift = thermalDrift(rig);
  return [
    `${rig.name}: guide star of V ${rig.guideStar.magnitude}, ${estimatorLabels[estimator]}, guide camera now at ` +
      `${signedUm(rig.guideFocusShiftUm)} µm`,
    '',
    ...guideFocusLines(best).flatMap((line) => wrapped(line)),
    ...(drift ? ['', ...wrapped(drivenByTemperature(drift))] : []),
    '',
    partial ? 'At the setting for all filters:' : 'At this setting:',
    ...tableOf(best),
    ...(partial ? ['', `At the setting without ${partial.leavesOut.join(', ')}:`, ...tableOf(partial)] : []),
    '',
    ...wrapped(
      `${aim === 'worst' ? 'Minimized: the share of the budget that the worst filter takes' : 'Minimized: the mean share of the budget over the minutes of exposure'}. ` +
        `Shares are of the worst moment of the night; brackets: 95 % interval: of chance in ${trials} frames per shift, seed ${seed}, ` +
        'not of the shifts themselves.',
    ),
  ];
}

function tableOf({ filters }: GuideFocusSetting): string[] {
  return textTable([
    ['filter', 'focus shift', 'share of the budget'],
    ['', 'µm', '%'],
    ...filters.map(({ filter, lowUm, highUm, share }) => [
      filter,
      lowUm === highUm ? signedUm(lowUm) : `${signedUm(lowUm)} to ${signedUm(highUm)}`,
      share.value > farOutside ? shareText(share.value) : intervalText(share, shareText),
    ]),
  ]);
}
