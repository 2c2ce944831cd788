/** Chapter: is there a star? */
import type { Chapter } from '../../cell.ts';
import { odds } from './odds.ts';

export const starOdds: Chapter = {
  id: 'is-there-a-star',
  title: 'Is there a star?',
  lead: 'Out of focus only brighter stars will do, and they are fewer. Will there be one in the guide field?',
  cells: [odds],
};
