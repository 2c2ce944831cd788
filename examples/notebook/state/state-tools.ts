/** Undo, redo and a fresh start, for buttons and keys. */
import { element } from '../element.ts';
import type { PageState } from './page-state.ts';

export function stateTools(state: PageState): HTMLElement {
  const button = (words: string, press: () => void) => {
    const made = element('button', { type: 'button', class: 'quiet' }, words);
    made.addEventListener('click', press);
    return made;
  };
  const undo = button('undo', () => state.undo());
  const redo = button('redo', () => state.redo());
  const tell = () => {
    undo.disabled = !state.canUndo;
    redo.disabled = !state.canRedo;
  };
  tell();
  state.onChange(tell);
  document.addEventListener('keydown', (event) => {
    // In a text the keys are the text's own.
    if (!(event.ctrlKey || event.metaKey) || event.target instanceof HTMLInputElement) return;
    const key = event.key.toLowerCase();
    if (key !== 'z' && key !== 'y') return;
    event.preventDefault();
    if (key === 'y' || event.shiftKey) state.redo();
    else state.undo();
  });
  return element(
    'span',
    { class: 'tools' },
    undo,
    redo,
    button('start afresh', () => state.startAfresh()),
  );
}
