/** The best setting of the guide camera, and what the cooling tube has to do with it, in sentences. */
import type { BestGuideFocus, GuideFocusSetting, Interval, ThermalDrift } from '@holdfast/sim';
import { farOutside, significant } from '@holdfast/sim/internal';
import { listText, shareText, shownUm, signedUm } from './quantity-text.ts';

/** What to set, why, and how much room is left. */
export function guideFocusLines({ partial, costNow, cost, aim, ...best }: BestGuideFocus): string[] {
  const spentNow = spentText(costNow);
  const now =
    aim === 'worst'
      ? `where it is now, the worst filter takes ${spentNow}`
      : `the mean over the night is ${spentText(cost)}, and ${spentNow} where it is now`;
  if (partial !== undefined)
    return [
      `Set the guide camera to ${settingText(partial)}, and refocus it for ${listText(partial.leavesOut)} alone; the others stay ` +
        `within the budget; ${worstText(partial)}.`,
      marginText(partial),
      aim === 'worst' && best.worstShare.value > farOutside
        ? `No single setting suits all filters: with any, one of them takes ${spentText(best.worstShare)}.`
        : `No single setting suits all filters. With the best one, ${settingText(best)}, ${best.worstFilter} still takes ` +
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
  return `${text(settingUm.value)} µm (${interval(settingUm, text, ' µm')}; ${move})`;
}

function worstText({ worstFilter, worstShare }: GuideFocusSetting): string {
  return `the worst filter, ${worstFilter}, takes ${spentText(worstShare)}`;
}

function marginText({ marginBeforeUm, marginBeyondUm, keepsAllUm }: GuideFocusSetting): string {
  if (!marginBeforeUm || !marginBeyondUm) return 'The budget is exceeded at any focus.';
  const room = `Room left to the focus limit: ${shownUm(marginBeforeUm.value)} µm ahead of focus (${interval(marginBeforeUm, shownUm, ' µm')}), ${shownUm(marginBeyondUm.value)} µm beyond it (${interval(marginBeyondUm, shownUm, ' µm')})`;
  return keepsAllUm
    ? `${room}; any setting from ${signedUm(keepsAllUm.low)} to ${signedUm(keepsAllUm.high)} µm keeps these filters within the budget.`
    : `${room}.`;
}

/** `95 % interval 40 to 49 µm` */
const interval = ({ low, high }: Interval, text: (value: number) => string, unit: string): string =>
  `95 % interval ${text(low)} to ${text(high)}${unit}`;

/** `44 % of the budget (95 % interval 40 to 49 %)`, or `more than 10 times the budget`. */
function spentText(share: number | Interval): string {
  const value = typeof share === 'number' ? share : share.value;
  if (value > farOutside) return `more than ${farOutside} times the budget`;
  const of = `${shareText(value)} % of the budget`;
  return typeof share === 'number' ? of : `${of} (${interval(share, shareText, ' %')})`;
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
    `The focus moves by ${significant(umPerK, 3)} µm per kelvin (${from}). Between two refocuses of the main camera, ` +
    `${significant(betweenRefocusesK, 2)} K apart, the focus of both cameras drifts by ${signedUm(beforeRefocusUm)} µm. A refocus of the main camera brings back both, as ` +
    `they sit on the same focuser.${own}${depth}`
  );
}
