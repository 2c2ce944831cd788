/** Chapter: through a focus run. */
import type { Chapter } from '../../cell.ts';
import { guidedThrough } from './guided-through.ts';
import { inTime } from './in-time.ts';

export const tracking: Chapter = {
  id: 'through-a-focus-run',
  title: 'Through a focus run',
  lead: 'While the main camera finds its focus, the guide star swells and shrinks. Should the loop pause or carry on?',
  cells: [guidedThrough, inTime],
};
