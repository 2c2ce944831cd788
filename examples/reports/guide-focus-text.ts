/** The best setting of the guide camera, and what the cooling tube has to do with it, in sentences. */
import type { BestGuideFocus, GuideFocusSetting, ThermalDrift } from '@holdfast/sim';
import { significant } from '@holdfast/sim/internal';
import { intervalText, listText, shownUm, signedUm, spentText } from './quantity-text.ts';

/** What to set, why, and how much room is left. */
export function guideFocusLines({ partial, costNow, cost, aim, ...best }: BestGuideFocus): string[] {
  const spentNow = spentText(costNow);
  const now =
    aim === 'worst'
      ? `where it is now, the worst filter takes ${spentNow}`
      : `the mean over the night is ${spentText(cost)}, and ${spentNow} where it is now`;
  if (partial !== undefined)
    return [
      `Set the guide camera to ${settingText(partial)}, and refocus it for ${listText(partial.leavesOut)} alone: the others stay ` +
        `within the budget; ${worstText(partial)}.`,
      marginText(partial),
      `No single setting suits all filters. With the best one, ${settingText(best)}, ${best.worstFilter} still takes ` +
        `${spentText(best.worstShare)}; ${now}.`,
    ];
  const verdict =
    best.verdict === 'within'
      ? 'every filter stays within the budget'
      : best.verdict === 'outside'
        ? 'no setting keeps every filter within the budget'
        : 'too close to the budget to call';
  return [
    `Set the guide camera to ${settingText(best)}: ${verdict}; ${worstText(best)}; ${now}.`,
    marginText(best),
  ];
}

function settingText({ settingUm, moveUm }: GuideFocusSetting): string {
  const move =
    Math.abs(moveUm) < 0.05
      ? 'where it is'
      : `${shownUm(Math.abs(moveUm))} µm ${moveUm > 0 ? 'away from' : 'toward'} the telescope`;
  const isNarrow = settingUm.high - settingUm.low < 10;
  const text = (value: number) => (isNarrow ? `${value > 0 ? '+' : ''}${value.toFixed(1)}` : signedUm(value));
  return `${intervalText(settingUm, text)} µm (${move})`;
}

function worstText({ worstFilter, worstShare }: GuideFocusSetting): string {
  return `the worst filter, ${worstFilter}, takes ${spentText(worstShare)}`;
}

function marginText({ marginBeforeUm, marginBeyondUm, keepsAllUm }: GuideFocusSetting): string {
  if (!marginBeforeUm || !marginBeyondUm) return 'The budget is exceeded at any focus.';
  const room = `Room left to the focus limit: ${intervalText(marginBeforeUm, shownUm)} µm ahead of focus, ${intervalText(marginBeyondUm, shownUm)} µm beyond it`;
  return keepsAllUm
    ? `${room}; any setting from ${signedUm(keepsAllUm.low)} to ${signedUm(keepsAllUm.high)} µm keeps these filters within the budget.`
    : `${room}.`;
}

/** What the falling temperature does to either camera, and which refocus undoes what. */
export function drivenByTemperature(drift: ThermalDrift): string {
  const { umPerK, from, betweenRefocusesK, beforeRefocusUm, guidePathUm, mainDepthUm, mainDepthK } = drift;
  const own =
    guidePathUm === 0
      ? ''
      : ` The guide path adds ${signedUm(guidePathUm)} µm of its own by the end of the night, which no refocus of the main camera undoes.`;
  const depth =
    mainDepthK === undefined
      ? ''
      : ` The main camera leaves its depth of focus (a quarter of a wave, ${significant(mainDepthUm, 3)} µm) after ${significant(mainDepthK, 2)} K${mainDepthK < betweenRefocusesK ? `: refocus it sooner than every ${significant(betweenRefocusesK, 2)} K` : ''}.`;
  return (
    `The focus moves by ${significant(umPerK, 3)} µm for each kelvin (${from}). Between two refocuses of the main camera, ` +
    `${significant(betweenRefocusesK, 2)} K apart, both cameras drift by ${signedUm(beforeRefocusUm)} µm alike; a refocus takes both back, as the guide camera ` +
    `rides on the same focuser.${own}${depth}`
  );
}
