/** What the words of the notebook mean: those of the guide, each linked where the page first uses it. */
import source from '../../docs/glossary.md?raw';
import { element } from './element.ts';

interface Word {
  readonly name: string;
  readonly meaning: string;
  readonly id: string;
  /** Finds it in a text, in any of its forms. */
  readonly pattern: RegExp;
}

const words: readonly Word[] = source
  .split('\n')
  .filter((line) => line.startsWith('|'))
  .slice(2)
  .map((line) => {
    const [name, meaning] = line
      .split('|')
      .slice(1)
      .map((cell) => cell.trim());
    const forms = name.replace(/ \(.*\)/, '').split(', ');
    const id = `word-${forms[0].replace(/\W+/g, '-')}`;
    // A form that is a sign alone has no edge at which a word begins.
    const named = forms
      .filter((form) => /^\w.*\w$/.test(form))
      .join('|')
      // The page has hyphens and spaces at which no line ends.
      .replaceAll('-', '[-\u2011]')
      .replaceAll(' ', '\\s');
    return { name, meaning, id, pattern: new RegExp(`(?<![\\w-])(?:${named})s?(?![\\w-])`, 'i') };
  });

export function glossary(): HTMLElement {
  return element(
    'section',
    { class: 'glossary', 'aria-labelledby': 'words' },
    element('h2', { id: 'words' }, 'Words'),
    element(
      'dl',
      {},
      ...words.map(({ name, meaning, id }) =>
        element('div', { id }, element('dt', {}, name), element('dd', {}, meaning)),
      ),
    ),
  );
}

/** Links the first use of each word in the text that stays as it is. */
export function linkWords(page: HTMLElement): void {
  const left = new Set(words);
  const texts = document.createTreeWalker(page, NodeFilter.SHOW_TEXT);
  const found: Text[] = [];
  for (let text = texts.nextNode(); text !== null; text = texts.nextNode())
    if (text.parentElement?.closest('p, li') && !text.parentElement.closest(changing))
      found.push(text as Text);
  for (const first of found) {
    let text = first;
    for (;;) {
      const next = words
        .map((word) => ({ word, match: word.pattern.exec(text.data) }))
        .filter(({ match }) => match !== null)
        // Of two that begin alike the longer one.
        .sort((a, b) => at(a) - at(b) || long(b) - long(a))[0];
      if (next === undefined) break;
      const use = text.splitText(at(next));
      text = use.splitText(long(next));
      if (left.delete(next.word))
        use.replaceWith(element('a', { class: 'word', href: `#${next.word.id}` }, use.data));
    }
  }
}

interface Found {
  readonly match: RegExpExecArray | null;
}
const at = ({ match }: Found): number => match?.index ?? 0;
const long = ({ match }: Found): number => match?.[0].length ?? 0;

/** Text that is written anew, or is a link, a control or a formula already. */
const changing =
  '[role=status], [aria-live], .state, .answer, .failure, a, button, label, nav, .katex, .glossary, .handout';
