/** HTML elements made by name: whatever is put into them as a string stays text. */
export function element<Name extends keyof HTMLElementTagNameMap>(
  name: Name,
  attributes: Readonly<Record<string, string>> = {},
  ...children: readonly (Node | string)[]
): HTMLElementTagNameMap[Name] {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  made.append(...children);
  return made;
}

/** A paragraph. */
export const paragraph = (...children: readonly (Node | string)[]): HTMLParagraphElement =>
  element('p', {}, ...children);

/** Where a formula comes from. */
export const source = (...children: readonly (Node | string)[]): HTMLParagraphElement =>
  element('p', { class: 'source' }, ...children);
