/** A cell: one numbered part of a chapter. */
import type { Report } from '../report.ts';
import { element } from './element.ts';
import { type FigureBox, figureBox } from './figure-box.ts';
import { type TableBox, tableBox } from './table-box.ts';

export interface Cell {
  readonly id: string;
  readonly title: string;
  /** What the cell shows; figures and tables through `sheet`, which numbers them through the chapter. */
  content(report: Report, sheet: NumberedSheet): (Node | string)[];
}

/** Makes figures and tables, each with the next number. */
export interface NumberedSheet {
  figure(box: FigureBox): HTMLElement;
  table<Row>(box: TableBox<Row>): HTMLElement;
}

/** Set the cells one after the other into the page. */
export function setCells(into: HTMLElement, cells: readonly Cell[], report: Report): void {
  let figures = 0;
  let tables = 0;
  const sheet: NumberedSheet = {
    figure: (box) => figureBox(++figures, box),
    table: (box) => tableBox(++tables, box),
  };
  cells.forEach(({ id, title, content }, index) => {
    const heading = element('h2', { id }, element('span', { class: 'number' }, `${index + 1}`), ` ${title}`);
    into.append(
      element(
        'section',
        { 'aria-labelledby': id },
        heading,
        element('div', { class: 'body' }, ...content(report, sheet)),
      ),
    );
  });
}
