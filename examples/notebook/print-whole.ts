/** The whole notebook on paper: what was not read yet is computed first. */
import type { Book } from './book.ts';
import { element } from './element.ts';

export function printTool(book: Book): HTMLElement {
  const button = element('button', { type: 'button', class: 'quiet' }, 'print');
  const status = element('span', { role: 'status' });
  const print = async () => {
    if (button.disabled) return;
    button.disabled = true;
    await book.whole((left) => {
      status.textContent = `computing the whole page: ${left} steps left …`;
    });
    status.textContent = '';
    button.disabled = false;
    const page = document.documentElement;
    page.classList.add('printing');
    addEventListener('afterprint', () => page.classList.remove('printing'), { once: true });
    // Figures are drawn anew at the next frame.
    for (let frame = 0; frame < 2; frame++) await new Promise(requestAnimationFrame);
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
