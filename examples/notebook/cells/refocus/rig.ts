/** The rig, to be changed, saved, loaded and sent. */

import type { Book } from '../../book.ts';
import type { Cell } from '../../cell.ts';
import { element, paragraph } from '../../element.ts';
import { exampleKind } from '../../first/telescope-kinds.ts';
import { inputValues } from '../../input-values.ts';
import { type CompleteRig, completeText, usableRig } from '../../rig-form/complete-rig.ts';
import { type RigForm, rigForm } from '../../rig-form/rig-form.ts';
import { isGroup, type RigText, rigFileText, textOfRig } from '../../rig-form/rig-text.ts';
import { saveLink, textBlob } from '../../save-link.ts';

/** The rig of the page, as it is written in its form; its value is `rig`. */
export function keptRig(book: Book): RigForm {
  const start = startOf(book);
  const form = rigForm(firstText(book));
  book.keep('rig', form, start);
  book.define('rigText', [], () => inputValues<RigText>(form));
  book.define('completeRig', ['rigText'], usableRig);
  book.define('rig', ['completeRig'], ({ rig }: CompleteRig) => rig);
  return form;
}

/** The rig that the page opens with. */
export function firstText(book: Book): RigText {
  const restored = book.state.restored('rig');
  return isGroup(restored) ? restored : startOf(book);
}

export const rigCell: Cell = {
  id: 'your-rig',
  title: 'Your rig',
  content: (book) => [
    paragraph(
      'Enter what you know. Every answer follows at once, first from a formula and then from simulated frames. An empty field ' +
        'uses the default that stands there in a fainter color. A part without any entry is left out. The explanation of a field appears while you type in it.',
    ),
    book.rigForm,
    actions(book, book.rigForm),
  ],
};

function startOf(book: Book): RigText {
  if (book.printed !== undefined) return textOfRig(book.printed.rig);
  const { name: _, ...telescope } = exampleKind;
  return { telescope, guideCamera: { pixelSizeUm: 2.9 }, guideStar: { magnitude: 11 } };
}

function actions(book: Book, form: RigForm): HTMLElement {
  const said = element('span', { class: 'said', role: 'status' });
  const link = element('button', { type: 'button', class: 'quiet' }, 'copy a link to this state');
  link.addEventListener('click', async () => {
    try {
      await navigator.clipboard.writeText(book.state.link());
      said.textContent =
        'The link was copied. It holds the rig and every control, and works with a copy of this file.';
    } catch {
      said.textContent = 'The browser does not allow copying: the link stands in the address of the page.';
    }
  });
  return element(
    'div',
    { class: 'actions' },
    saveLink('save the rig as JSON', 'rig.json', () =>
      textBlob(rigFileText(completeText(form.value).text), 'application/json'),
    ),
    rigFileButton('load a rig', 'rig-file', (rig) => {
      form.value = rig;
      form.dispatchEvent(new CustomEvent('input'));
    }),
    link,
    said,
  );
}

/** A button that opens a rig file. What is wrong with the rig itself is told where its text is used. */
export function rigFileButton(words: string, id: string, take: (rig: RigText) => void): HTMLElement {
  const said = element('span', { class: 'said', role: 'status' });
  const input = element('input', { type: 'file', accept: '.json,application/json', id });
  input.addEventListener('change', async () => {
    const [file] = input.files ?? [];
    if (file === undefined) return;
    input.value = '';
    try {
      const text: unknown = JSON.parse((await file.text()).replace(/^\uFEFF/, ''));
      if (!isGroup(text)) throw new SyntaxError('it must be one object');
      const { $schema: _, ...rig } = text;
      take(rig);
      said.textContent = `${file.name} was read.`;
    } catch (error) {
      said.textContent = `${file.name} is not valid JSON: ${(error as Error).message}`;
    }
  });
  return element(
    'span',
    { class: 'rig-file' },
    element('label', { for: id, class: 'file' }, words, input),
    ' ',
    said,
  );
}
