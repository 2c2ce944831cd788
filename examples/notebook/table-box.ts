/** A numbered table with its caption; on a narrow page each row becomes a stack. Saved as CSV. */
import { type CsvRecord, csvText } from './csv.ts';
import { element } from './element.ts';
import { ownScroll } from './own-scroll.ts';
import { saveLink, textBlob } from './save-link.ts';

export interface TableColumn<Row> {
  readonly head: string;
  readonly unit?: string;
  /** Several parts stand one below the other. */
  cell(row: Row): readonly (Node | string)[];
  /** Names the row. */
  readonly isHead?: boolean;
  readonly isNumber?: boolean;
}

export interface TableBox<Row> {
  readonly caption: readonly (Node | string)[];
  readonly columns: readonly TableColumn<Row>[];
  readonly rows: readonly Row[];
  /** What is to be said of a row, in a line of its own under it. */
  note?(row: Row): string | undefined;
  /** Whether the row says how the one above it would be otherwise. */
  isChanged?(row: Row): boolean;
  /** All numbers of a row in full, by column name with unit. */
  record(row: Row): CsvRecord;
}

export interface LiveTable<Row> {
  readonly element: HTMLElement;
  /** Write it anew. */
  redraw(box: TableBox<Row>): void;
}

/** A table whose rows change with the page. */
export function liveTable<Row>(number: number, file: string): LiveTable<Row> {
  const box = element('div', { class: 'table-box', id: file });
  return { element: box, redraw: (table) => box.replaceChildren(...tableParts(number, file, table)) };
}

/** Roles are said aloud too: a browser forgets a table's own once its rows are stacked. */
function tableParts<Row>(number: number, file: string, box: TableBox<Row>): HTMLElement[] {
  const { caption, columns, rows } = box;
  const head = element(
    'tr',
    { role: 'row' },
    ...columns.map(({ head, unit, isNumber }) =>
      element(
        'th',
        { scope: 'col', role: 'columnheader', class: isNumber ? 'column amount' : 'column' },
        head,
        ...(unit ? [', ', element('span', { class: 'unit' }, unit)] : []),
      ),
    ),
  );
  const body = rows.flatMap((row, i) => {
    const id = `${file}-${i + 1}`;
    const note = box.note?.(row);
    return [
      element(
        'tr',
        { role: 'row', class: box.isChanged?.(row) ? 'row changed' : 'row' },
        ...columns.map((column) => cellOf(column, row, id)),
      ),
      ...(note === undefined
        ? []
        : [
            element(
              'tr',
              { role: 'row', class: 'note' },
              element('td', { role: 'cell', colspan: `${columns.length}`, headers: id }, note),
            ),
          ]),
    ];
  });
  return [
    ownScroll(
      element(
        'div',
        {},
        element(
          'table',
          { role: 'table' },
          element(
            'caption',
            { class: 'caption' },
            element('span', { class: 'label' }, `Table ${number}.`),
            ' ',
            ...caption,
          ),
          element('thead', { role: 'rowgroup' }, head),
          element('tbody', { role: 'rowgroup' }, ...body),
        ),
      ),
    ),
    element(
      'p',
      { class: 'below' },
      saveLink('save as CSV', `${file}.csv`, () =>
        textBlob(csvText(rows.map((row) => box.record(row))), 'text/csv'),
      ),
    ),
  ];
}

function cellOf<Row>(column: TableColumn<Row>, row: Row, id: string): HTMLElement {
  const { head, unit, cell, isHead, isNumber } = column;
  const parts = cell(row);
  const content = parts.length > 1 ? parts.map((part) => element('div', { class: 'part' }, part)) : parts;
  return isHead
    ? element('th', { scope: 'row', role: 'rowheader', class: 'head', id }, ...content)
    : element(
        'td',
        {
          role: 'cell',
          'data-head': unit ? `${head}, ${unit}` : head,
          ...(isNumber ? { class: 'amount' } : {}),
        },
        element('div', { class: 'value' }, ...content),
      );
}
