/** Chapter: your own frame. */
import type { Chapter } from '../../cell.ts';
import { frameAdvice } from './frame-advice.ts';
import { frameStars } from './frame-stars.ts';

export const frame: Chapter = {
  id: 'your-own-frame',
  title: 'Your own frame',
  lead: 'Open a frame of your guide camera. How far out of focus is its star, and how far could it go?',
  cells: [frameStars, frameAdvice],
};
