/** The notebook: reads what stands in the page and in its address, and sets its chapters. */
import './no-eval.ts';
import 'katex/dist/katex.min.css';
import './style.css';
import './controls.css';
import './table.css';
import './print.css';
import type { Rig } from '@holdfast/sim';
import { answerSentences } from './answer-sentences.ts';
import { Book } from './book.ts';
import { contents, setChapters } from './cell.ts';
import { chapters } from './chapters.ts';
import type { LiveReport } from './compute/live-report.ts';
import { element } from './element.ts';
import { glossary } from './glossary.ts';
import { colophon, subject } from './heading.ts';
import { readReport } from './read-report.ts';
import { placeOf } from './state/state-link.ts';
import { stateTools } from './state/state-tools.ts';

const book = new Book(readReport(document));
const place = (id: string): HTMLElement => document.getElementById(id) as HTMLElement;

place('contents').append(contents(chapters));
setChapters(place('chapters'), chapters, book);
const line = element('span');
place('subject').append(line);
book.within(place('verdict'), () => {
  book.show(['rig'], (rig: Rig) => line.replaceChildren(...subject(rig)));
  const verdict = element('span');
  place('verdict').append(verdict, ' ', element('a', { href: '#answer' }, 'The numbers'));
  book.show(['live'], (live: LiveReport) => verdict.replaceChildren(answerSentences(live)[0]));
});
place('glossary').append(glossary());
place('colophon').append(colophon());
place('tools').append(stateTools(book.state));
book.state.begin();

// Links within the page keep the state in the address.
document.addEventListener('click', (event) => {
  const link = (event.target as Element).closest?.('a[href^="#"]');
  if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  book.state.goTo((link.getAttribute('href') ?? '').slice(1));
});
document.getElementById(placeOf(location.hash))?.scrollIntoView();
