/** Chapter: which method. */
import type { Chapter } from '../../cell.ts';
import { againstBound } from './against-bound.ts';
import { cloud } from './cloud.ts';
import { oneFrame } from './one-frame.ts';

export const measuring: Chapter = {
  id: 'which-way',
  title: 'Which method measures best?',
  lead: 'Each method finds a different position in the same frame. How close does each come to the least possible error?',
  cells: [againstBound, oneFrame, cloud],
};
