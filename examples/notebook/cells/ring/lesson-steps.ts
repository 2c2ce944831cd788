/** The steps of the lesson: what is switched on, what it does, and a question with its answer. */
import type { Lesson } from '../../compute/lesson.ts';

export interface LessonStep {
  /** What is switched on; the first step switches on nothing. */
  readonly name?: keyof Omit<Lesson, 'ringPx' | 'mend'>;
  readonly label: string;
  readonly sentence: string;
  readonly question: string;
  readonly answer: string;
}

export const lessonSteps: readonly LessonStep[] = [
  {
    label: 'a perfect ring',
    sentence: 'Every side of the ring moves out alike, so the middle of its light stays where the star is.',
    question: 'Make the ring three times as wide. How far does the measured position move?',
    answer:
      'Not at all. Light that lands farther out on one side is balanced by the light on the other side.',
  },
  {
    name: 'photons',
    label: 'photon noise',
    sentence:
      'Each photon lands at a random point of the ring, so the scatter of the position grows with the radius of the ring.',
    question: 'By how much does the scatter grow when the ring becomes twice as wide?',
    answer:
      'About twice, once the ring is wider than the blur: each photon fixes the position to about one radius.',
  },
  {
    name: 'sky',
    label: 'sky and read noise',
    sentence:
      'Empty pixels count, too. Each adds noise, and the farther it is from the star, the more it moves the position.',
    question:
      'The star sends the same light. Why is the scatter so much larger than the least possible error?',
    answer:
      'The plain center of mass weights a pixel by its distance: a noisy pixel at the edge counts more than a bright one near the middle.',
  },
  {
    name: 'threshold',
    label: 'a threshold',
    sentence:
      'Pixels below the threshold are left out. That removes noise, until the ring is as faint as the threshold.',
    question: 'Make the ring wider until frames are lost. What happens to the ring just before?',
    answer:
      'It breaks into pieces. Only random peaks pass the threshold, and the position jumps between them.',
  },
  {
    name: 'window',
    label: 'a small window',
    sentence:
      'The window was set for a star in focus. The ring outgrows it, and the position hardly moves when the star does.',
    question: 'The scatter looks fine. Which number shows that this does not guide?',
    answer:
      'The response: the measured position follows only a part of each motion, so the loop corrects too little or not at all.',
  },
  {
    name: 'clipped',
    label: 'a clipped beam',
    sentence:
      'The edge of the pick-off takes light from one side. The offset that follows is harmless until the focus changes.',
    question: 'The offset is constant. When does it move the picture?',
    answer:
      'When the ring changes, in a focus run or with a filter: the offset grows with the defocus, and the loop follows it.',
  },
  {
    name: 'neighbor',
    label: 'a neighbor',
    sentence: 'A second star in the window pulls the position toward itself.',
    question: 'Which remedy helps against the neighbor, and which do not?',
    answer:
      'A refocus helps: the two stars separate. A longer exposure makes both brighter, so the pull stays.',
  },
];
