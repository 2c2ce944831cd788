/** The notebook: reads what stands in the page and in its address, and sets its chapters. */
import './no-eval.ts';
import 'katex/dist/katex.min.css';
import './style.css';
import './controls.css';
import './first.css';
import './table.css';
import './print.css';
import { Book } from './book.ts';
import { contents, setChapters } from './cell.ts';
import { firstText, keptRig } from './cells/refocus/rig.ts';
import { mostFrames, usualFrames } from './compute/rounds.ts';
import { choiceControl } from './controls.ts';
import { askEarly, firstChapter, firstScreen } from './first/first-screen.ts';
import { glossary, linkWords } from './glossary.ts';
import { colophon } from './heading.ts';
import { nextTask } from './next-task.ts';
import { printTool } from './print-whole.ts';
import { readReport } from './read-report.ts';
import { placeOf } from './state/state-link.ts';
import { stateTools } from './state/state-tools.ts';
import { themeTools } from './state/theme.ts';

// By night nothing bright is ever shown.
const themes = themeTools();
const book = new Book(readReport(document));
const place = (id: string): HTMLElement => document.getElementById(id) as HTMLElement;

// The program was read in this task, and its workers are begun.
await nextTask();
askEarly(book, firstText(book));
await nextTask();
book.rigForm = keptRig(book);
book.frameChoice = choiceControl(
  book,
  'frames',
  'simulated frames per star, at most',
  mostFrames,
  usualFrames,
);
await nextTask();
book.watch(place('first'), firstChapter);
const firstVerdict = firstScreen(book, book.rigForm, place('first'));
await nextTask();
// What draws the chapters is begun once the first answer is being worked out.
const { chapters } = await import('./chapters.ts');
place('contents').append(contents(chapters));
// A page that was left at a chapter opens there.
if (placeOf(location.hash) === '') await firstVerdict;
await setChapters(place('chapters'), chapters, book);
place('glossary').append(glossary());
linkWords(place('chapters'));
place('tools').append(stateTools(book.state), printTool(book), themes);
book.state.begin();

// Links within the page keep the state in the address.
document.addEventListener('click', (event) => {
  const link = (event.target as Element).closest?.('a[href^="#"]');
  if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  book.state.goTo((link.getAttribute('href') ?? '').slice(1));
});
document.getElementById(placeOf(location.hash))?.scrollIntoView();
// The last to come: the page is whole.
place('colophon').append(colophon());
