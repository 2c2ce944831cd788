/** The rig, to be changed, saved, loaded and sent. */
import type { Rig } from '@holdfast/sim';
import example from '../../../rigs/fast-reflector.json' with { type: 'json' };
import type { Book } from '../../book.ts';
import type { Cell } from '../../cell.ts';
import { element, paragraph } from '../../element.ts';
import { inputValues } from '../../input-values.ts';
import { type RigForm, rigForm } from '../../rig-form/rig-form.ts';
import { checkRig, type RigText, type RigValue, rigFileText, textOfRig } from '../../rig-form/rig-text.ts';
import { saveLink, textBlob } from '../../save-link.ts';
import { stateFragment } from '../../state-link.ts';

export const rigCell: Cell = {
  id: 'your-rig',
  title: 'Your rig',
  content(book) {
    const { rig, text } = startOf(book);
    const form = rigForm(rig, text);
    if (book.restoredRig !== undefined) form.load(book.restoredRig);
    book.define('rigValue', [], () => inputValues<RigValue>(form));
    let last: Rig | undefined;
    book.define('rig', ['rigValue'], function (this: Rig | undefined, value: RigValue) {
      // The same rig is no news: what was simulated for it stays.
      last = last === value.rig ? last : value.rig;
      return last;
    });
    form.addEventListener('input', () => keepInAddress(book, form));
    book.onChange(() => keepInAddress(book, form));
    return [
      paragraph(
        'Write in what you have. Every number below follows at once: first by formula, then by simulated frames. What you ' +
          'leave empty is taken as the grey number says; what a field means shows under it while you write in it.',
      ),
      form,
      actions(book, form),
    ];
  },
};

function startOf(book: Book): { rig: Rig; text: RigText } {
  if (book.printed !== undefined) return { rig: book.printed.rig, text: textOfRig(book.printed.rig) };
  const { $schema: _, ...text } = example as RigText;
  const checked = checkRig(text);
  if ('faults' in checked) throw new Error('the example rig cannot be used');
  return { rig: checked.rig, text };
}

function actions(book: Book, form: RigForm): HTMLElement {
  const said = element('span', { class: 'said', role: 'status' });
  const file = element('input', { type: 'file', accept: '.json,application/json', id: 'rig-file' });
  file.addEventListener('change', async () => {
    const [chosen] = file.files ?? [];
    if (chosen === undefined) return;
    const text = await chosen.text();
    try {
      form.load(JSON.parse(text.replace(/^\uFEFF/, '')));
      said.textContent = `${chosen.name} was read.`;
    } catch (error) {
      said.textContent = `${chosen.name} is not valid JSON: ${(error as Error).message}`;
    }
    file.value = '';
  });
  const link = element('button', { type: 'button', class: 'quiet' }, 'copy a link to this state');
  link.addEventListener('click', async () => {
    showInAddress(book, form);
    try {
      await navigator.clipboard.writeText(location.href);
      said.textContent =
        'The link was copied. It holds the rig and every control, and works with a copy of this file.';
    } catch {
      said.textContent = 'The link stands in the address of the page now.';
    }
  });
  return element(
    'div',
    { class: 'actions' },
    saveLink('save the rig as JSON', 'rig.json', () =>
      textBlob(rigFileText(form.value.text), 'application/json'),
    ),
    element('label', { for: 'rig-file', class: 'file' }, 'load a rig', file),
    link,
    said,
  );
}

let waiting: ReturnType<typeof setTimeout> | undefined;

/** A while after the last change, so that a drag does not write a hundred addresses. */
function keepInAddress(book: Book, form: RigForm): void {
  clearTimeout(waiting);
  waiting = setTimeout(() => showInAddress(book, form), 400);
}

function showInAddress(book: Book, form: RigForm): void {
  const fragment = stateFragment({ rig: form.value.text, controls: book.controlValues() });
  history.replaceState(null, '', fragment);
}
