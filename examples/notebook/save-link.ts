/** A quiet button that saves what stands above it as a file, without a server. */
import { element } from './element.ts';

/**
 * @param words  what it says
 * @param file   name of the file
 * @param make   makes the file when it is asked for
 */
export function saveLink(words: string, file: string, make: () => Blob | Promise<Blob>): HTMLButtonElement {
  const button = element(
    'button',
    { class: 'save', type: 'button', 'aria-label': `${words}: ${file}` },
    words,
  );
  button.addEventListener('click', async () => {
    const address = URL.createObjectURL(await make());
    const link = element('a', { href: address, download: file });
    link.click();
    // The browser has taken the file long before this; then its memory is given back.
    setTimeout(() => URL.revokeObjectURL(address), 60_000);
  });
  return button;
}

/** A text file that names its letters' code. */
export const textBlob = (text: string, type: string): Blob =>
  new Blob([text], { type: `${type};charset=utf-8` });
