/**
 * Formulas, typeset while the page is built: the build replaces the text between the backquotes by its
 * markup, so that the page carries no typesetter. Only the chapter's own formulas ever come here.
 */
import { ownScroll } from './own-scroll.ts';

/** A formula on a line of its own. */
export function formula(markup: TemplateStringsArray | string): HTMLElement {
  return ownScroll(typeset('div', markup));
}

/** A formula within a line. */
export function math(markup: TemplateStringsArray | string): HTMLElement {
  return typeset('span', markup);
}

function typeset(name: 'div' | 'span', markup: TemplateStringsArray | string): HTMLElement {
  if (typeof markup !== 'string') throw new Error(`a formula was not typeset by the build: ${markup.raw}`);
  const made = document.createElement(name);
  made.className = name === 'div' ? 'formula' : 'math';
  made.innerHTML = markup;
  return made;
}
