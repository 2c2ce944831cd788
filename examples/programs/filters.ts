/** What does each change of the filter do to the guide star? */
import { adviseRefocus, type CompleteAdvice, type FilterChange, type Rig } from '@holdfast/sim';
import { decisionText, noiseWithinBudgetArcsec, significant } from '@holdfast/sim/internal';
import { signedUm } from '../reports/quantity-text.ts';
import { textTable } from '../reports/text-table.ts';
import { wrapped } from '../reports/wrapped-text.ts';
import { command } from './command-line/command.ts';
import { flag, text, wordIn } from './command-line/option.ts';
import { rig, seed, trials } from './command-line/shared-options.ts';

export const filters = command({
  name: 'filters',
  question: 'What does each change of the filter do to the guide star?',
  options: {
    rig,
    trials,
    seed,
    from: text('NAME', 'only changes from this filter'),
    to: text('NAME', 'only changes to this filter'),
    all: flag('every change. Without --all, --from and --to: from each filter to the next one in the list'),
  },
  async run({ rig, seed, trials, from, to, all }, { onProgress }) {
    const names = rig.filters.map(({ name }) => name);
    if (from !== undefined) wordIn(from, 'from', names);
    if (to !== undefined) wordIn(to, 'to', names);
    const advice = await adviseRefocus(rig, { seed, trials, ...(onProgress ? { onProgress } : {}) });
    const isEvery = all || from !== undefined || to !== undefined;
    const changes = advice.changes.filter(
      (change) =>
        (from ?? change.from) === change.from &&
        (to ?? change.to) === change.to &&
        (isEvery || isNext(names, change.from, change.to)),
    );
    const { filters, limit } = advice;
    return {
      data: { rig: rig.name, seed, trials, filters, limit, changes },
      text: () => textOf(rig, advice, changes),
    };
  },
});

/** The next of the list; after the last comes the first. */
function isNext(names: readonly string[], from: string, to: string): boolean {
  return (names.indexOf(from) + 1) % names.length === names.indexOf(to);
}

function textOf(
  rig: Rig,
  { filters, trials, seed }: CompleteAdvice,
  changes: readonly FilterChange[],
): string[] {
  return [
    `${rig.name}: guide star of V ${rig.guideStar.magnitude}, guide camera at ${signedUm(rig.guideFocusShiftUm)} µm for a filter of shift 0`,
    '',
    ...(changes.length === 0 ? ['There is but one filter: nothing changes.'] : changeTable(rig, changes)),
    '',
    ...filters.flatMap(({ filter, outcome, reason }) => wrapped(`${filter}: ${outcome}; ${reason}.`)),
    ...whatToDo(changes),
    '',
    ...wrapped(
      `The main camera is refocused at every change, and the guide camera rides along; its own light ${rig.filtersStand === 'before-pickoff' ? 'passes the filter too' : 'does not pass the filter'}. ` +
        'A shift > 0: the guide sensor lies beyond its focus. Errors are 1 sigma, one axis; ± is one standard error (where none stands, it is less than half of the last digit). ' +
        `By simulation: ${trials} frames per filter, seed ${seed}.`,
    ),
  ];
}

function changeTable(rig: Rig, changes: readonly FilterChange[]): string[] {
  const allowedArcsec = noiseWithinBudgetArcsec(rig);
  const steps = changes.some(({ moveSteps }) => moveSteps !== undefined);
  return textTable([
    [
      'from',
      'to',
      'focuser',
      ...(steps ? ['focuser'] : []),
      'shift',
      'ring',
      'new SNR',
      'new error',
      'jump',
      'outcome',
    ],
    ['', '', 'µm', ...(steps ? ['steps'] : []), 'µm', 'px', '', 'arcsec', 'arcsec', ''],
    ...changes.map((change) => [
      change.from,
      change.to,
      signedUm(change.moveUm),
      ...(steps ? [String(Math.round(change.moveSteps ?? 0))] : []),
      `${signedUm(change.fromShiftUm)} to ${signedUm(change.toShiftUm)}`,
      `${change.fromRingPx.toFixed(1)} to ${change.toRingPx.toFixed(1)}`,
      significant(change.toSnr, 2),
      change.toNoiseArcsec ? decisionText(change.toNoiseArcsec, allowedArcsec) : 'none',
      Math.sqrt(change.jumpArcsec.x ** 2 + change.jumpArcsec.y ** 2).toFixed(2),
      change.outcome,
    ]),
  ]);
}

/** Once for each filter that is not kept. */
function whatToDo(changes: readonly FilterChange[]): string[] {
  const arrivals = changes.filter(
    ({ outcome }, i) => outcome !== 'keep' && changes.findIndex(({ to }) => to === changes[i].to) === i,
  );
  if (arrivals.length === 0) return [];
  return [
    '',
    ...arrivals.flatMap(({ to, reason }) => {
      const parts = reason.split('; ');
      return wrapped(`On arrival at ${to}: ${parts[parts.length - 1]}.`);
    }),
  ];
}
