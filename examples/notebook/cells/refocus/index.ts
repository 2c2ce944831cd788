/** Chapter: should I refocus? */

import type { CompleteAdvice, Rig } from '@holdfast/sim';
import type { Book } from '../../book.ts';
import { invalidation, signalOf } from '../../book.ts';
import type { Cell, Chapter } from '../../cell.ts';
import { type LiveReport, liveReport } from '../../compute/live-report.ts';
import type { CompleteRig } from '../../rig-form/complete-rig.ts';
import { answer } from './answer.ts';
import { cautions } from './cautions.ts';
import { errorCurve } from './error-curve.ts';
import { howComputed } from './how-computed.ts';
import { oneFocus } from './one-focus.ts';
import { rigCell } from './rig.ts';
import { rigInputs } from './rig-inputs.ts';
import { stars } from './stars.ts';
import { twoRigs } from './two-rigs.ts';

export const refocus: Chapter = {
  id: 'should-i-refocus',
  title: 'Should I refocus?',
  lead: 'A refocus of the main camera puts the guide camera out of focus. With which filters does its star stay usable?',
  cells: [
    withReport(rigCell),
    answer,
    errorCurve,
    oneFocus,
    stars,
    twoRigs,
    howComputed,
    rigInputs,
    cautions,
  ],
};

/** The chapter's value: the report of the rig, which its cells show. */
function withReport(cell: Cell): Cell {
  return {
    ...cell,
    content(book: Book) {
      const nodes = cell.content(book);
      book.define(
        'live',
        ['reportRig', 'completeRig', 'frames', invalidation],
        (rig: Rig, { isOneFilter }: CompleteRig, frames: string, outdated: Promise<unknown>) =>
          reportOf(book, rig, isOneFilter, Number(frames), signalOf(outdated)),
      );
      return nodes;
    },
  };
}

async function* reportOf(
  book: Book,
  rig: Rig,
  isOneFilter: boolean,
  most: number,
  signal: AbortSignal,
): AsyncGenerator<LiveReport, void, unknown> {
  const { printed } = book;
  if (printed !== undefined && JSON.stringify(printed.rig) === JSON.stringify(rig)) {
    const state = `Simulated: ${printed.advice.trials} frames per star, as this page was written.`;
    yield { ...printed, whole: printed.advice as CompleteAdvice, state };
    return;
  }
  const chapter = refocus.id;
  // Without filters the first screen gives the same answer: nothing is simulated twice before it is read.
  const begins = isOneFilter ? book.inView(chapter, signal) : Promise.resolve();
  const teams = {
    answer: book.team(chapter, 'growth-by-filter'),
    curve: book.team(chapter, 'error-against-focus-shift'),
    stars: book.team(chapter, 'star-by-focus-shift'),
  };
  yield* liveReport(rig, most, teams, begins, book.seen(chapter, signal), signal);
}
