/** Chapter: how we know. */

import { shown } from '../../../figures/number-words.ts';
import { rigName } from '../../book.ts';
import type { Cell, Chapter } from '../../cell.ts';
import { codeOf } from '../../code.ts';
import { type PublishedCheck, publishedChecks } from '../../compute/published-checks.ts';
import code from '../../compute/published-checks.ts?raw';
import { paragraph } from '../../element.ts';
import type { TableBox } from '../../table-box.ts';

const chapter = 'how-we-know';

interface Checked extends PublishedCheck {
  readonly found: number;
}

const checks: Cell = {
  id: 'published-numbers',
  title: 'Against published numbers',
  content(book) {
    const table = book.table<Checked>('published-checks');
    book.define('checked', [rigName(chapter)], () =>
      publishedChecks.map((check): Checked => ({ ...check, found: check.ours() })),
    );
    book.show(['checked'], (checked: readonly Checked[]) => table.redraw(tableOf(checked)));
    return [
      paragraph(
        'The numbers under “here” were computed by this page when you opened it, with the code that computes everything else ' +
          'here. “Allowed” is what the project’s tests allow, mostly half a unit of the last digit printed; “from ' +
          'memory”: the text itself was not at hand.',
      ),
      table.element,
      paragraph(
        'These are a selection. The folder test/published of the project holds the others, one file a source: open images of real ' +
          'rings among them, ray traces, diffraction patterns, star counts and the standards of cameras and files. The command ',
        'npm test',
        ' runs them all, and fails when one is missed.',
      ),
      codeOf('published-checks.ts', code),
    ];
  },
};

export const howWeKnow: Chapter = {
  id: chapter,
  title: 'How we know',
  lead: 'Numbers from papers, standards and textbooks, and what this page makes of the same questions.',
  cells: [checks],
};

/** As many digits as the tolerance lets one see. */
function digits(value: number, tolerance: number): string {
  const decimals = Math.min(9, Math.max(0, Math.ceil(-Math.log10(tolerance))));
  return shown(value.toFixed(decimals));
}

function tableOf(rows: readonly Checked[]): TableBox<Checked> {
  return {
    caption: ['Published values, this page’s, and the difference.'],
    columns: [
      { head: 'what', isHead: true, cell: ({ what, unit }) => [unit ? `${what}, ${unit}` : what] },
      { head: 'published', isNumber: true, cell: ({ value, tolerance }) => [digits(value, tolerance)] },
      { head: 'here', isNumber: true, cell: ({ found, tolerance }) => [digits(found, tolerance)] },
      { head: 'difference', isNumber: true, cell: ({ found, value }) => [power(found - value)] },
      { head: 'allowed', isNumber: true, cell: ({ tolerance }) => [power(tolerance)] },
    ],
    rows,
    note: ({ source }) => source,
    record: ({ what, unit, value, found, tolerance, source }) => ({
      what,
      unit,
      published: value,
      here: found,
      difference: found - value,
      allowed: tolerance,
      source,
    }),
  };
}

/** `2 · 10⁻⁵`; the smallest differences are those of rounding. */
function power(value: number): string {
  if (value === 0) return '0';
  const [factor, exponent] = value.toExponential(1).split('e');
  const raised = Array.from(exponent.replace('+', ''), (letter) => superscripts[letter] ?? letter).join('');
  return shown(`${factor} · 10${raised}`);
}

const superscripts: Readonly<Record<string, string>> = {
  '-': '⁻',
  0: '⁰',
  1: '¹',
  2: '²',
  3: '³',
  4: '⁴',
  5: '⁵',
  6: '⁶',
  7: '⁷',
  8: '⁸',
  9: '⁹',
};
