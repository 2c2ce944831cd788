/** The code behind a cell, as it runs in the page: folded, and to be copied. */
import { element } from './element.ts';
import { ownScroll } from './own-scroll.ts';

/** @param source  text of the file, imported with `?raw` */
export function codeOf(file: string, source: string): HTMLElement {
  const copy = element('button', { type: 'button', class: 'quiet' }, 'copy');
  const said = element('span', { class: 'said', role: 'status' });
  copy.addEventListener('click', async () => {
    try {
      await navigator.clipboard.writeText(source);
      said.textContent = ' copied';
    } catch {
      said.textContent = ' the browser does not allow it: select the text instead';
    }
  });
  return element(
    'details',
    { class: 'code' },
    element('summary', {}, `The code: ${file}`),
    element('p', { class: 'below' }, copy, said),
    ownScroll(element('pre', {}, element('code', {}, source))),
  );
}
