/** The advice in plain sentences. */
import type { FilterAdvice, FocusLimit, Rig } from '@holdfast/sim';
import { significant } from '@holdfast/sim/internal';
import { intervalText, shown } from '../figures/number-words.ts';
import { isGuess } from '../figures/outcome-word.ts';
import type { Report } from '../reports/report.ts';

/** The answer in one sentence, then what ends the range of focus shifts. */
export function answerSentences({ rig, advice }: Pick<Report, 'rig' | 'advice'>): [string, string] {
  const { filters, limit } = advice;
  return [`${capital([whatToDo(filters), howFar(limit)].join(': '))}.`, whatEndsIt(rig, limit)];
}

function whatToDo(filters: readonly FilterAdvice[]): string {
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

function howFar({ limitedBy, limitUm, ringDiameterPx }: FocusLimit): string {
  if (limitedBy === 'out-of-budget-in-focus') return 'the star is not usable even in focus';
  if (limitedBy === 'ring-size')
    return shown(
      `the star stays usable as far as was simulated, ${significant(limitUm.value, 3)} µm either side of focus and a ring of ` +
        `${significant(ringDiameterPx.value, 3)} px`,
    );
  if (limitUm.low === limitUm.high)
    return shown(
      `by formula the star stays usable up to about ${significant(limitUm.value, 2)} µm either side of focus, a ring of ${significant(ringDiameterPx.value, 2)} px`,
    );
  return `the star stays usable up to ${intervalText(limitUm, 'µm')} either side of focus, a ring of ${intervalText(ringDiameterPx, 'px')}`;
}

function whatEndsIt({ budget }: Rig, { limitedBy, leastErrorLimitUm, trialsPerShift }: FocusLimit): string {
  const ends: Record<FocusLimit['limitedBy'], string> = {
    'fwhm-growth': `Beyond that, the stars of the picture grow by more than the ${budget.fwhmGrowthPercent} % that the budget allows.`,
    'lost-fraction': `Beyond that, more guide frames give no position than the ${budget.lostFractionPercent} % that the budget allows.`,
    'rms-error': `Beyond that, the noise-equivalent error is more than the ${budget.rmsErrorArcsec}″ that the budget allows.`,
    window: 'Beyond that, the ring outgrows the window that is measured.',
    'ring-size': 'No limit was found up to the largest ring that is simulated.',
    'out-of-budget-in-focus':
      'The budget is spent before any focus shift: only a brighter star or a longer exposure helps.',
  };
  if (trialsPerShift === 0) return shown(ends[limitedBy]);
  return shown(
    `${ends[limitedBy]} Were the star measured with the least possible error, the growth would keep within the budget to ` +
      `${significant(leastErrorLimitUm, 3)} µm: no way of measuring goes beyond that.`,
  );
}

function list(words: readonly string[]): string {
  if (words.length < 2) return words.join('');
  return `${words.slice(0, -1).join(', ')} and ${words[words.length - 1]}`;
}

const capital = (sentence: string): string => sentence.charAt(0).toUpperCase() + sentence.slice(1);
