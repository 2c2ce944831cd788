/** Chapter: which way of measuring. */
import type { Chapter } from '../../cell.ts';
import { againstBound } from './against-bound.ts';
import { cloud } from './cloud.ts';
import { oneFrame } from './one-frame.ts';

export const measuring: Chapter = {
  id: 'which-way',
  title: 'Which way of measuring?',
  lead: 'Each way of measuring reads the same frame differently. How close does each come to what is possible?',
  cells: [againstBound, oneFrame, cloud],
};
