/**
 * Formulas, typeset while the page is built: the build replaces the text between the backquotes by its markup, so that
 * the page carries no typesetter. Only the chapter's own formulas ever come here.
 */

/** A formula on a line of its own. */
export function formula(markup: TemplateStringsArray | string): HTMLElement {
  const made = typeset('div', markup);
  // Wider than the page: then it scrolls in its own box, by the keyboard too.
  new ResizeObserver(() => {
    if (made.scrollWidth > made.clientWidth) made.tabIndex = 0;
    else made.removeAttribute('tabindex');
  }).observe(made);
  return made;
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
