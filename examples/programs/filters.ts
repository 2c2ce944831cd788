/** What does each change of the filter do to the guide star? */
import { adviseRefocus, type CompleteAdvice, type FilterChange, type Rig } from '@holdfast/sim';
import { significant, withError } from '@holdfast/sim/internal';
import { signedUm } from '../reports/quantity-text.ts';
import { textTable } from '../reports/text-table.ts';
import { wrapped } from '../reports/wrapped-text.ts';
import { UnusableInput } from './command-line/command-line.ts';
import { progressLine } from './command-line/progress-line.ts';
import { readRig } from './command-line/read-rig.ts';
import { readRigCommand, rigHelpLines } from './command-line/rig-command.ts';
import { runProgram } from './command-line/run-program.ts';

const help = `What does each change of the filter do to the guide star?

  node examples/dist/programs/filters.js [options]

  --from NAME      only changes from this filter
  --to NAME        only changes to this filter
  --all            every change; otherwise, without --from and --to, from each filter to the next of the list
${rigHelpLines}

Ends with 0 when it has answered, 2 when the rig or an option is not usable, 1 when something else failed.`;

runProgram(async (args) => {
  const {
    rig: file,
    seed,
    trials,
    json,
    help: asked,
    own,
    on,
  } = readRigCommand(args, ['from', 'to'], ['all']);
  if (asked) {
    console.log(help);
    return;
  }
  const rig = readRig(file);
  const names = rig.filters.map(({ name }) => name);
  for (const name of ['from', 'to'] as const) {
    const filter = own[name];
    if (filter !== undefined && !names.includes(filter))
      throw new UnusableInput(`--${name} must be one of ${names.join(', ')}, got ${filter}`);
  }
  const progress = progressLine(process.stderr);
  const advice = await adviseRefocus(rig, { seed, trials, onProgress: progress.update }).finally(
    progress.clear,
  );
  const changes = advice.changes.filter(
    ({ from, to }) =>
      (own.from === undefined || from === own.from) &&
      (own.to === undefined || to === own.to) &&
      (on.all || own.from !== undefined || own.to !== undefined || isNext(names, from, to)),
  );
  const { filters, limit } = advice;
  console.log(
    json
      ? JSON.stringify({ rig: rig.name, seed, trials, filters, limit, changes }, undefined, 2)
      : textOf(rig, advice, changes).join('\n'),
  );
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
    `${rig.name}: guide star of V ${rig.guideStar.magnitude}, guide camera at ${signedUm(rig.guideFocusShiftUm)} um for a filter of shift 0`,
    '',
    ...(changes.length === 0 ? ['There is but one filter: nothing changes.'] : changeTable(changes)),
    '',
    ...filters.flatMap(({ filter, outcome, reason }) => wrapped(`${filter}: ${outcome}; ${reason}.`)),
    ...whatToDo(changes),
    '',
    ...wrapped(
      'The main camera is refocused at every change, and the guide camera rides along; its own light does not pass the filter. ' +
        'A shift > 0: the guide sensor lies beyond its focus. Errors are 1 sigma, one axis; ± is one standard error. ' +
        `By simulation: ${trials} frames a filter, seed ${seed}.`,
    ),
  ];
}

function changeTable(changes: readonly FilterChange[]): string[] {
  const steps = changes.some(({ moveSteps }) => moveSteps !== undefined);
  return textTable([
    [
      'from',
      'to',
      'focuser',
      ...(steps ? ['focuser'] : []),
      'shift',
      'ring',
      'SNR then',
      'error then',
      'jump',
      'outcome',
    ],
    ['', '', 'um', ...(steps ? ['steps'] : []), 'um', 'px', '', 'arcsec', 'arcsec', ''],
    ...changes.map((change) => [
      change.from,
      change.to,
      signedUm(change.moveUm),
      ...(steps ? [String(Math.round(change.moveSteps ?? 0))] : []),
      `${signedUm(change.fromShiftUm)} to ${signedUm(change.toShiftUm)}`,
      `${change.fromRingPx.toFixed(1)} to ${change.toRingPx.toFixed(1)}`,
      significant(change.toSnr, 2),
      change.toNoiseArcsec ? withError(change.toNoiseArcsec) : 'none',
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
