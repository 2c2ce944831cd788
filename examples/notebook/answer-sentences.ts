/** The advice in plain sentences. */
import type { FilterAdvice, FocusLimit, Rig } from '@holdfast/sim';
import { significant } from '@holdfast/sim/internal';
import { shown } from '../figures/number-words.ts';
import { isGuess } from '../figures/outcome-word.ts';
import type { LiveReport } from './compute/live-report.ts';
import { cameraAsItIs } from './rig-form/complete-rig.ts';

/** What to do and how far the star could go, then what sets that limit, once it is known. */
export function answerSentences({ rig, advice }: Pick<LiveReport, 'rig' | 'advice'>): [string, string] {
  const { filters, limit } = advice;
  if (limit === undefined) return [`${capital(whatToDo(filters))}.`, ''];
  return [
    `${capital(whatToDo(filters))}. ${howFar(limit)}.`,
    `${intervalOf(limit)}${whatEndsIt(rig, limit)}`,
  ];
}

function whatToDo(filters: readonly FilterAdvice[]): string {
  const [only] = filters;
  if (only.filter === cameraAsItIs && filters.length === 1) return forTheCamera(only);
  const kept = filters.filter(({ outcome }) => outcome === 'keep');
  const refocused = filters.filter(({ outcome }) => outcome === 'refocus');
  const trimmed = filters.flatMap(({ filter, trim }) => (trim ? [`${filter} (${trim.change})`] : []));
  const names = (some: readonly FilterAdvice[]) =>
    filters.length > 1 && some.length === filters.length
      ? 'every filter'
      : list(some.map(({ filter }) => filter));
  if (filters.some(isGuess)) {
    const outside = refocused.length > 0 ? `${names(refocused)} will need a change` : '';
    const within =
      kept.length > 0
        ? `${names(kept)} ${kept.length > 1 || filters.length === kept.length ? 'stay' : 'stays'} within the budget`
        : '';
    return [within, outside].filter(Boolean).join('; ');
  }
  return [
    ...(kept.length > 0 ? [`keep the guide camera’s focus for ${names(kept)}`] : []),
    ...(trimmed.length > 0 ? [`trim for ${list(trimmed)}`] : []),
    ...(refocused.length > 0 ? [`refocus the guide camera for ${names(refocused)}`] : []),
  ].join('; ');
}

/** Where no filter was given, one stands for the camera as it is. */
function forTheCamera(only: FilterAdvice): string {
  if (isGuess(only))
    return only.outcome === 'keep' ? 'the star is within the budget' : 'the star will need a change';
  return {
    keep: 'keep the focus of the guide camera as it is',
    trim: `trim: ${only.trim?.change}`,
    refocus: 'refocus the guide camera',
  }[only.outcome];
}

function howFar({ limitedBy, limitUm, ringDiameterPx, trialsPerShift }: FocusLimit): string {
  if (limitedBy === 'out-of-budget-in-focus') return 'The star is not usable even in focus';
  if (limitedBy === 'ring-size')
    return shown(
      `The star stays usable as far as was simulated: up to a ring of ${significant(ringDiameterPx.value, 2)} px, ` +
        `${significant(limitUm.value, 2)} µm either side of focus`,
    );
  return shown(
    `The star stays usable up to ${trialsPerShift === 0 ? 'about ' : ''}a ring of ${significant(ringDiameterPx.value, 2)} px, ` +
      `${significant(limitUm.value, 2)} µm either side of focus`,
  );
}

/** How well the limit is known; nothing where it was not simulated. */
function intervalOf({ limitedBy, limitUm, ringDiameterPx, trialsPerShift }: FocusLimit): string {
  if (trialsPerShift === 0 || limitedBy === 'out-of-budget-in-focus' || limitedBy === 'ring-size') return '';
  const range = ({ low, high }: typeof limitUm, unit: string) =>
    `${significant(low, 3)} to ${significant(high, 3)} ${unit}`;
  return shown(
    `The 95 % interval of this limit is ${range(ringDiameterPx, 'px')}, or ${range(limitUm, 'µm')}. `,
  );
}

function whatEndsIt({ budget }: Rig, { limitedBy, leastErrorLimitUm, trialsPerShift }: FocusLimit): string {
  const ends: Record<FocusLimit['limitedBy'], string> = {
    'fwhm-growth': `Beyond that, the stars in the picture grow by more than the ${budget.fwhmGrowthPercent} % that the budget allows.`,
    'lost-fraction': `Beyond that, more guide frames are lost than the ${budget.lostFractionPercent} % that the budget allows.`,
    'rms-error': `Beyond that, the noise-equivalent error is larger than the ${budget.rmsErrorArcsec}″ that the budget allows.`,
    window: 'Beyond that, the ring outgrows the window that is measured.',
    'ring-size': 'No limit was found up to the largest ring that is simulated.',
    'out-of-budget-in-focus':
      'The star exceeds the budget even in focus: only a brighter star or a longer exposure helps.',
  };
  if (trialsPerShift === 0) return shown(ends[limitedBy]);
  return shown(
    `${ends[limitedBy]} A method with the least possible error would stay within the budget up to ` +
      `${significant(leastErrorLimitUm, 2)} µm. No method can go farther.`,
  );
}

function list(words: readonly string[]): string {
  if (words.length < 2) return words.join('');
  return `${words.slice(0, -1).join(', ')} and ${words[words.length - 1]}`;
}

const capital = (sentence: string): string => sentence.charAt(0).toUpperCase() + sentence.slice(1);
