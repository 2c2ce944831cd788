/** The published numbers, folded by subject: a table each, and one file with all of them. */
import { shown } from '../../../figures/number-words.ts';
import type { Book } from '../../book.ts';
import type { CheckedFile, CheckedNumber } from '../../compute/published-checks.ts';
import { csvText } from '../../csv.ts';
import { element } from '../../element.ts';
import { saveLink, textBlob } from '../../save-link.ts';
import type { LiveTable, TableBox } from '../../table-box.ts';

export interface CheckGroups {
  readonly element: HTMLElement;
  /** The files so far; those that stand there already stay. */
  show(files: readonly CheckedFile[]): void;
}

export function checkGroups(book: Book): CheckGroups {
  const box = element('div', { class: 'check-groups', id: 'published-checks' });
  const below = element('p', { class: 'below', hidden: '' });
  const shownFiles = new Set<string>();
  let all: readonly CheckedFile[] = [];
  below.append(
    saveLink('save all as CSV', 'published-checks.csv', () =>
      textBlob(
        csvText(all.flatMap(({ file, numbers }) => numbers.map((each) => recordOf(each, file)))),
        'text/csv',
      ),
    ),
  );
  return {
    element: element('div', {}, box, below),
    show(files) {
      all = files;
      below.hidden = false;
      for (const each of files) {
        if (shownFiles.has(each.file)) continue;
        shownFiles.add(each.file);
        if (each.numbers.length === 0) continue;
        const group = groupOf(each, book.table(fileName(each.file)));
        box.append(group);
      }
    },
  };
}

/** The name of a file of quick or slow tests, without what all of them end with. */
const stemOf = (file: string): string => file.replace(/(\.slow)?\.test\.ts$/, '');

const fileName = (file: string): string => `published-${stemOf(file)}`;

/** `kolmogorov-seeing.test.ts`: Kolmogorov seeing. */
function subjectOf(file: string): string {
  const words = stemOf(file).replaceAll('-', ' ').replace('pickoff', 'pick-off');
  return names.reduce(
    (text, name) => text.replace(new RegExp(`\\b${name}\\b`, 'i'), name),
    words.charAt(0).toUpperCase() + words.slice(1),
  );
}

const names = ['Airy', 'CCD', 'EMVA', 'FITS', 'Gaussian', 'Kolmogorov', 'Moffat', 'Noll', 'Strehl'];

const isMet = ({ ours, published, tolerance }: CheckedNumber): boolean =>
  Math.abs(ours - published) <= tolerance;

function groupOf(file: CheckedFile, table: LiveTable<CheckedNumber>): HTMLElement {
  const { numbers } = file;
  const missed = numbers.filter((each) => !isMet(each)).length;
  const count = `${numbers.length} ${numbers.length === 1 ? 'number' : 'numbers'}`;
  table.redraw(tableOf(file));
  return element(
    'details',
    missed > 0 ? { open: '' } : {},
    element(
      'summary',
      {},
      subjectOf(file.file),
      element('span', { class: 'count' }, missed > 0 ? `, ${count}, ${missed} missed` : `, ${count}`),
    ),
    table.element,
  );
}

function tableOf({ file, numbers, others }: CheckedFile): TableBox<CheckedNumber> {
  const more =
    others > 0
      ? ` ${others} more ${others === 1 ? 'test' : 'tests'} from it compare more than one number.`
      : '';
  return {
    caption: [element('code', {}, `test/published/${file}`), `.${more}`],
    columns: [
      { head: 'what', isHead: true, cell: ({ what }) => [what] },
      {
        head: 'published',
        isNumber: true,
        cell: ({ published, tolerance }) => [digits(published, tolerance)],
      },
      {
        head: 'here',
        isNumber: true,
        cell: (each) => [
          isMet(each)
            ? digits(each.ours, each.tolerance)
            : element('strong', {}, `${digits(each.ours, each.tolerance)}, missed`),
        ],
      },
      { head: 'difference', isNumber: true, cell: ({ ours, published }) => [power(ours - published)] },
      {
        head: 'allowed',
        isNumber: true,
        cell: ({ tolerance }) => [tolerance === 0 ? 'none' : power(tolerance)],
      },
    ],
    rows: numbers,
    // A source is named once, under the rows that share it.
    note: (each) => {
      const next = numbers[numbers.indexOf(each) + 1];
      return next?.source === each.source && next.group === each.group ? undefined : sourceWords(each);
    },
    record: (each) => recordOf(each, file),
  };
}

function sourceWords({ group, source }: CheckedNumber): string {
  return group === '' || source.includes(group) || group.includes(source) ? source : `${group}: ${source}`;
}

const recordOf = (each: CheckedNumber, file: string) => ({
  file,
  group: each.group,
  what: each.what,
  published: each.published,
  here: each.ours,
  difference: each.ours - each.published,
  allowed: each.tolerance,
  source: each.source,
  why: each.note,
});

/** As many digits as the tolerance lets one see. */
function digits(value: number, tolerance: number): string {
  const size = Math.abs(value);
  if (size > 0 && (size >= 1e7 || size < 1e-4)) return power(value, 4);
  if (tolerance === 0) return shown(String(value));
  const decimals = Math.min(9, Math.max(0, Math.ceil(-Math.log10(tolerance))));
  return shown(value.toFixed(decimals));
}

/** `2 · 10⁻⁵`; the smallest differences are those of rounding. */
function power(value: number, decimals = 1): string {
  if (value === 0) return '0';
  const [factor, exponent] = value.toExponential(decimals).split('e');
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
