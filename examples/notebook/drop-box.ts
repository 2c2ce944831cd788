/** Where files come from: dropped anywhere on the page, or opened by this button. */
import { element } from './element.ts';

export interface DropBox extends HTMLElement {
  /** The file that was given last. */
  value: File | undefined;
}

export function dropBox(words: string, accept: string): DropBox {
  const input = element('input', { type: 'file', accept });
  const box = element(
    'label',
    { class: 'drop' },
    element('span', { class: 'drop-words' }, words),
    input,
  ) as unknown as DropBox;
  const take = (file: File | undefined) => {
    if (file === undefined) return;
    box.value = file;
    box.dispatchEvent(new Event('input'));
  };
  box.value = undefined;
  input.addEventListener('input', (event) => event.stopPropagation());
  input.addEventListener('change', () => {
    take(input.files?.[0]);
    // The same file may be given again, changed.
    input.value = '';
  });
  // Dropped anywhere: a browser would show the file in place of the page.
  for (const kind of ['dragenter', 'dragover'] as const)
    addEventListener(kind, (event) => {
      event.preventDefault();
      box.classList.add('over');
    });
  addEventListener('dragleave', (event) => {
    if (event.relatedTarget === null) box.classList.remove('over');
  });
  addEventListener('drop', (event) => {
    event.preventDefault();
    box.classList.remove('over');
    take(event.dataTransfer?.files[0]);
  });
  return box;
}
