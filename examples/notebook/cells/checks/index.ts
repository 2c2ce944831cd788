/** Chapter: how we know. */
import { invalidation, signalOf } from '../../book.ts';
import type { Cell, Chapter } from '../../cell.ts';
import { codeOf } from '../../code.ts';
import type { CheckedFile } from '../../compute/published-checks.ts';
import code from '../../compute/published-checks.ts?raw';
import { element, paragraph } from '../../element.ts';
import { checkGroups } from './check-groups.ts';
import { elsewhere } from './elsewhere.ts';

const chapter = 'how-we-know';

interface Checked {
  readonly files: readonly CheckedFile[];
  /** How many there are in all. */
  readonly total: number;
}

const numbers: Cell = {
  id: 'published-numbers',
  title: 'Against published numbers',
  content(book) {
    const groups = checkGroups(book);
    // The numbers are the same for every rig: they are computed once, when the chapter has come into view.
    book.define(
      'checked',
      [invalidation],
      async function* (outdated: Promise<unknown>): AsyncGenerator<Checked> {
        const signal = signalOf(outdated);
        await book.seen(chapter, signal);
        const team = book.team(chapter);
        const names = await team.run(signal, 'publishedFiles');
        const found = new Map<number, CheckedFile>();
        const open = new Map(
          names.map((name, i) => [
            i,
            team.run(signal, 'checkFile', name).then((file) => {
              found.set(i, file);
              open.delete(i);
            }),
          ]),
        );
        // What comes while the page draws the files before it is told with the next, the last ones, too.
        for (let files: CheckedFile[] = []; files.length < names.length; ) {
          if (open.size > 0) await Promise.race(open.values());
          // In the order of their names, so that a table's number does not depend on who was first.
          files = [];
          for (let next = found.get(0); next !== undefined; next = found.get(files.length)) files.push(next);
          yield { files, total: names.length };
        }
      },
    );
    const said = element('p', { class: 'answer' });
    const state = element('p', { class: 'state', role: 'status' });
    book.show(['checked'], ({ files, total }: Checked) => {
      groups.show(files);
      const all = files.flatMap(({ numbers }) => numbers);
      const missed = all.filter(
        ({ ours, published, tolerance }) => !(Math.abs(ours - published) <= tolerance),
      );
      const isDone = files.length === total;
      state.textContent = isDone ? '' : `${files.length} of ${total} subjects so far.`;
      if (!isDone) return;
      said.replaceChildren(
        missed.length === 0
          ? `The page meets all ${all.length} published numbers below, each within its allowed difference.`
          : `The page misses ${missed.length} of ${all.length} published numbers; they are marked below.`,
      );
    });
    return [
      paragraph(
        'The tables list every single number that the project’s tests take from a paper, a standard or a textbook. This page computed ' +
          'the column “here” when the chapter came into view, with the same code as everything else. “Allowed” is the largest accepted ' +
          'difference, mostly half a unit of the last printed digit; the test file gives the reason. “From memory” means that the text ' +
          'was not at hand.',
      ),
      said,
      state,
      groups.element,
      codeOf('published-checks.ts', code),
    ];
  },
};

export const howWeKnow: Chapter = {
  id: chapter,
  title: 'How we know',
  lead: 'Numbers from papers, standards and textbooks, beside what this page computes for the same questions.',
  cells: [numbers, elsewhere],
};
