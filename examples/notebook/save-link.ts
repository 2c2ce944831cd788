/** A quiet link that saves what stands above it as a file, without a server. */
import { element } from './element.ts';

/**
 * @param words  what the link says
 * @param file   name of the file
 * @param type   its media type
 * @param text   makes the file's text when it is asked for
 */
export function saveLink(words: string, file: string, type: string, text: () => string): HTMLAnchorElement {
  const link = element('a', { class: 'save', href: `#${file}`, download: file }, words);
  link.addEventListener('click', () => {
    const address = URL.createObjectURL(new Blob([text()], { type: `${type};charset=utf-8` }));
    link.href = address;
    // The browser has taken the file long before this; then its memory is given back.
    setTimeout(() => URL.revokeObjectURL(address), 60_000);
  });
  return link;
}

/** `rms error` -> `rms-error` */
export const fileName = (title: string): string =>
  title
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-|-$/g, '');
