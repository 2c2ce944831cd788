/** Break the center of mass, one thing at a time, and mend it. */
import type { Rig } from '@holdfast/sim';
import { significant } from '@holdfast/sim/internal';
import { sheet, svgElement } from '../../../figures/figure.ts';
import { lightInks } from '../../../figures/inks.ts';
import { shown } from '../../../figures/number-words.ts';
import { invalidation, rigName, signalOf } from '../../book.ts';
import type { Cell } from '../../cell.ts';
import { codeOf } from '../../code.ts';
import type { Lesson, LessonResult, Mend } from '../../compute/lesson.ts';
import code from '../../compute/lesson.ts?raw';
import { liveSeed } from '../../compute/live-report.ts';
import { choiceControl, controls, rangeControl, switchControl } from '../../controls.ts';
import { element, paragraph } from '../../element.ts';
import { errorPlot } from '../../figures/error-plot.ts';
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
        book.team(chapter).runFirst(signalOf(outdated), 'lesson', rig, setting, liveSeed),
    );
    const said = element('div', { class: 'lesson-words', 'aria-live': 'polite' });
    book.show(['lesson', 'lessonSetting'], (result: LessonResult, setting: Lesson) => {
      said.replaceChildren(...wordsOf(setting));
      figure.redraw(
        (options) => {
          const { document = globalThis.document, width = 760, inks = lightInks } = options;
          const side = Math.min(width, 420);
          return sheet(
            options,
            { width: side, height: side, alternative: numbersOf(result) },
            ...errorPlot({ ...result, reach: reachPx, unit: 'px', ink: inks.accent }, side, document, inks),
            ...(result.errorX.length === 0
              ? [
                  svgElement(
                    document,
                    'text',
                    { x: side / 2, y: side / 2, 'text-anchor': 'middle' },
                    'no position',
                  ),
                ]
              : []),
          );
        },
        [numbersOf(result)],
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
        'One star, measured by the center of mass of its light, while it moves slowly to and fro. Switch on what spoils it, one ' +
          'after the other, and watch the cloud, the offset, the scatter and the response. Then mend it.',
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

function numbersOf({ found, boundPx, lost, frames }: LessonResult): string {
  const trials = `${frames} simulated frames, ${lost} without a position.`;
  if (found === undefined) return `No position in ${trials}`;
  const { offsetPx, response, scatterPx } = found;
  const px = (value: number) => (value < 0.001 ? 'less than 0.001 px' : `${significant(value, 2)} px`);
  const bound = boundPx === undefined ? '' : ` (least possible: ${px(boundPx)})`;
  // Below this the position hardly follows the star, and the quotient is chance.
  const noise = response > 0.1 ? px(scatterPx / response) : 'none';
  return shown(
    `Measured less true position, ${trials} Offset ${px(offsetPx)}. Scatter ${px(scatterPx)}, one axis. Response ` +
      `${(100 * response).toFixed(0)} %. Noise-equivalent error (scatter over response) ${noise}${bound}.`,
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
        'Open the notebook at chapter 2. Switch on one thing after the other. Write down the scatter and the response, and ' +
          'answer before you look at the back.',
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
      paragraph('Then break it with everything on, and mend it. Which one change helps most?'),
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
        'Mending: a refocus shrinks the ring and cures all but a faint star. Without one, a template of the ring, in a window as large as ' +
          'the ring, comes near the least possible error.',
      ),
    ),
  );
}
