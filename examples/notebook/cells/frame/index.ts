/** Chapter: your own frame. */
import type { Chapter } from '../../cell.ts';
import { frameAdvice } from './frame-advice.ts';
import { frameStars } from './frame-stars.ts';

export const frame: Chapter = {
  id: 'your-own-frame',
  title: 'Your own frame',
  lead: 'A frame of your guide camera, measured here: how far out of focus it is, and how far it could go.',
  cells: [frameStars, frameAdvice],
};
