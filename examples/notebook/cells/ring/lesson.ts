/** Break the center of mass, one thing at a time, and mend it. */
import type { Rig } from '@holdfast/sim';
import { significant } from '@holdfast/sim/internal';
import { shown } from '../../../figures/number-words.ts';
import { invalidation, rigName, signalOf } from '../../book.ts';
import type { Cell } from '../../cell.ts';
import { codeOf } from '../../code.ts';
import { liveSeed } from '../../compute/cell-of.ts';
import type { Lesson, LessonResult, Mend } from '../../compute/lesson.ts';
import code from '../../compute/lesson.ts?raw';
import { choiceControl, controls, rangeControl, switchControl } from '../../controls.ts';
import { element, paragraph } from '../../element.ts';
import { lessonPlate } from '../../figures/lesson-plate.ts';
import { lessonSteps } from './lesson-steps.ts';

const chapter = 'why-a-ring';
const mends = new Map<string, Mend>([
  ['nothing', 'nothing'],
  ['a template of the ring', 'template'],
  ['a window as large as the ring', 'window'],
  ['four times the exposure', 'longer'],
  ['a refocus', 'refocus'],
]);
const reachPx = 2;

export const breakTheCenter: Cell = {
  id: 'break-the-center',
  title: 'Break the center, one thing at a time',
  content(book) {
    const figure = book.figure('lesson', 420);
    const names = lessonSteps.flatMap(({ name }) => name ?? []);
    const switches = lessonSteps.flatMap(({ name, label }, i) =>
      name === undefined ? [] : [switchControl(book, `lesson ${name}`, `${i + 1} ${label}`)],
    );
    const ring = rangeControl(book, 'lessonRing', {
      label: 'ring diameter',
      unit: 'px',
      extent: [0, 40],
      limits: [0, 100],
      step: 1,
      value: 16,
    });
    const mend = choiceControl<Mend>(book, 'lessonMend', 'mend it by', mends, 'nothing');
    book.define(
      'lessonSetting',
      ['lessonRing', 'lessonMend', ...names.map((name) => `lesson ${name}`)],
      (ringPx: number, mend: Mend, ...on: boolean[]): Lesson =>
        ({ ringPx, mend, ...Object.fromEntries(names.map((name, i) => [name, on[i]])) }) as unknown as Lesson,
    );
    book.define(
      'lesson',
      [rigName(chapter), 'lessonSetting', invalidation],
      (rig: Rig, setting: Lesson, outdated: Promise<unknown>) =>
        book.team(chapter, 'lesson').runFirst(signalOf(outdated), 'lesson', rig, setting, liveSeed),
    );
    const said = element('div', { class: 'lesson-words', 'aria-live': 'polite' });
    book.show(['lesson', 'lessonSetting'], (result: LessonResult, setting: Lesson) => {
      said.replaceChildren(...wordsOf(setting));
      const method = setting.mend === 'template' ? 'templateFit' : 'centerOfMass';
      figure.redraw(
        (options) => lessonPlate(result, method, reachPx, numbersOf(result), options),
        [pictureWords(setting), numbersOf(result)],
      );
    });
    const print = element('button', { type: 'button', class: 'press' }, 'print the two-page hand-out');
    print.addEventListener('click', () => {
      document.documentElement.classList.add('handout-only');
      addEventListener('afterprint', () => document.documentElement.classList.remove('handout-only'), {
        once: true,
      });
      globalThis.print();
    });
    return [
      paragraph(
        'One star moves slowly to and fro and is measured by the center of mass of its light. Switch on one fault after the ' +
          'other, and watch the star, the cloud of errors, the offset, the scatter and the response. Then mend it.',
      ),
      controls(ring, mend),
      element('div', { class: 'switches', role: 'group', 'aria-label': 'what is switched on' }, ...switches),
      said,
      figure.element,
      controls(print),
      handOut(),
      codeOf('lesson.ts', code),
    ];
  },
};

/** The last step that is on, with its question. */
function wordsOf(setting: Lesson): Node[] {
  const on = lessonSteps.filter(({ name }) => name === undefined || setting[name]);
  const step = on[on.length - 1];
  return [
    paragraph(element('strong', {}, `${lessonSteps.indexOf(step) + 1} ${step.label}`), `: ${step.sentence}`),
    element('details', {}, element('summary', {}, step.question), paragraph(step.answer)),
  ];
}

/** What is to be seen of the star. */
function pictureWords({ window, threshold, mend }: Lesson): string {
  const above = threshold ? 'light above the threshold' : 'light above the background';
  const box = window && mend !== 'window' ? ' Dashed: the window that is measured.' : '';
  return (
    `The star: one frame, ${above}. Ticks at its edges: true position. Mark: measured position.${box} ` +
    'The errors: those of all frames, with histograms and the ellipse that contains 68 % of a normal cloud. '
  );
}

function numbersOf({ found, boundPx, lost, frames }: LessonResult): string {
  const trials = `${frames} simulated frames, ${lost} without a position.`;
  if (found === undefined) return `No position in ${trials}`;
  const { offsetPx, response, scatterPx } = found;
  const px = (value: number) => (value < 0.001 ? 'less than 0.001 px' : `${significant(value, 2)} px`);
  const bound = boundPx === undefined ? '' : ` (least possible: ${px(boundPx)})`;
  // Below this the position hardly follows the star, and the quotient is chance.
  const noise = response > 0.1 ? px(scatterPx / response) : 'none';
  return shown(
    `Measured minus true position, ${trials} Offset ${px(offsetPx)}. Scatter ${px(scatterPx)}, one axis. Response ` +
      `${(100 * response).toFixed(0)} %. Noise-equivalent error (scatter divided by response) ${noise}${bound}.`,
  );
}

/** Questions on the first page, answers on the back. */
function handOut(): HTMLElement {
  return element(
    'div',
    { class: 'handout' },
    element(
      'div',
      { class: 'handout-page' },
      element('h2', {}, 'Break the center, one thing at a time'),
      paragraph(
        'Open chapter 2 of the notebook, section 2.4. Switch on one thing after the other. Write down the scatter and the response. ' +
          'Answer each question before you look at the back.',
      ),
      element(
        'ol',
        {},
        ...lessonSteps.map(({ label, sentence, question }) =>
          element(
            'li',
            {},
            element('strong', {}, label),
            `: ${sentence} `,
            element('em', {}, question),
            element('p', { class: 'write-here' }, 'scatter ______ px      response ______ %'),
          ),
        ),
      ),
      paragraph('Then switch on everything, and mend it. Which single remedy helps most?'),
    ),
    element(
      'div',
      { class: 'handout-page' },
      element('h2', {}, 'Answers'),
      element(
        'ol',
        {},
        ...lessonSteps.map(({ label, answer }) =>
          element('li', {}, element('strong', {}, label), `: ${answer}`),
        ),
      ),
      paragraph(
        'Remedies: a refocus makes the ring small and helps against everything but a faint star. Without a refocus, a template of ' +
          'the ring comes near the least possible error.',
      ),
    ),
  );
}
