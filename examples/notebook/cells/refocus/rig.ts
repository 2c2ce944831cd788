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
  const restored = book.state.restored('rig');
  const form = rigForm(isGroup(restored) ? restored : start);
  book.keep('rig', form, start);
  book.define('rigText', [], () => inputValues<RigText>(form));
  book.define('completeRig', ['rigText'], usableRig);
  book.define('rig', ['completeRig'], ({ rig }: CompleteRig) => rig);
  return form;
}

export const rigCell: Cell = {
  id: 'your-rig',
  title: 'Your rig',
  content: (book) => [
    paragraph(
      'Write in what you have. Every number follows at once: first by formula, then by simulated frames. Empty fields use the ' +
        'value shown in gray; parts that you leave empty are not there. What a field means shows under it while you write in it.',
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
  const file = element('input', { type: 'file', accept: '.json,application/json', id: 'rig-file' });
  file.addEventListener('change', async () => {
    const [chosen] = file.files ?? [];
    if (chosen === undefined) return;
    said.textContent = await loadRig(form, chosen);
    file.value = '';
  });
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
    element('label', { for: 'rig-file', class: 'file' }, 'load a rig', file),
    link,
    said,
  );
}

/** What is wrong with the rig itself is told at its fields. */
export async function loadRig(form: RigForm, file: File): Promise<string> {
  try {
    const text: unknown = JSON.parse((await file.text()).replace(/^\uFEFF/, ''));
    if (!isGroup(text)) return `${file.name} holds no rig: it must be one JSON object.`;
    const { $schema: _, ...rig } = text;
    form.value = rig;
    form.dispatchEvent(new CustomEvent('input'));
    return `${file.name} was read.`;
  } catch (error) {
    return `${file.name} is not valid JSON: ${(error as Error).message}`;
  }
}
