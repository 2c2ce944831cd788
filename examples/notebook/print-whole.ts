/** The whole notebook on paper: what was not read yet is computed first. */
import type { Book } from './book.ts';
import { element } from './element.ts';

export function printTool(book: Book): HTMLElement {
  const button = element('button', { type: 'button', class: 'quiet' }, 'print');
  const status = element('span', { role: 'status' });
  const print = async () => {
    if (button.disabled) return;
    button.disabled = true;
    status.textContent = 'computing all chapters for print …';
    await book.whole();
    status.textContent = '';
    button.disabled = false;
    globalThis.print();
  };
  button.addEventListener('click', print);
  document.addEventListener('keydown', (event) => {
    if (!(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== 'p') return;
    event.preventDefault();
    void print();
  });
  return element('span', { class: 'tools' }, button, status);
}
