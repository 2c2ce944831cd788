/** Chapters and their cells: the parts of the story, each with a number. */
import type { Book } from './book.ts';
import { element } from './element.ts';
import { nextTask } from './next-task.ts';

export interface Cell {
  readonly id: string;
  readonly title: string;
  /** What the cell shows: set up once, kept up to date by the book. */
  content(book: Book): (Node | string)[];
}

export interface Chapter {
  readonly id: string;
  readonly title: string;
  /** What the chapter is about, in a sentence. */
  readonly lead: string;
  readonly cells: readonly Cell[];
}

/**
 * Set the chapters one after the other into the page, each cell in a task of its own: the page answers in
 * between.
 */
export async function setChapters(
  into: HTMLElement,
  chapters: readonly Chapter[],
  book: Book,
): Promise<void> {
  for (const [chapter, { id, title, lead, cells }] of chapters.entries()) {
    const part = element(
      'article',
      { class: 'chapter', 'aria-labelledby': id },
      element(
        'p',
        { class: 'running-head' },
        element('span', {}, 'Holdfast notebook'),
        element('span', {}, `Chapter ${chapter + 1}`),
      ),
      element('h2', { id }, title),
      element('p', { class: 'lead' }, lead),
    );
    into.append(part);
    book.watch(part, id);
    for (const [index, cell] of cells.entries()) {
      const number = `${chapter + 1}.${index + 1}`;
      const body = element('div', { class: 'body' });
      body.append(...book.within(body, () => cell.content(book)));
      part.append(
        element(
          'section',
          { 'aria-labelledby': cell.id },
          element('h3', { id: cell.id }, element('span', { class: 'number' }, number), ` ${cell.title}`),
          body,
        ),
      );
      // Laid out now, and not together with all others.
      part.getBoundingClientRect();
      await nextTask();
    }
  }
}

/** The chapters by name, each a link. */
export function contents(chapters: readonly Chapter[]): HTMLElement {
  return element(
    'ol',
    { class: 'contents' },
    ...chapters.map(({ id, title, lead }) =>
      element('li', {}, element('a', { href: `#${id}` }, title), element('span', { class: 'about' }, lead)),
    ),
    element('li', { class: 'words' }, element('a', { href: '#words' }, 'Words')),
  );
}
