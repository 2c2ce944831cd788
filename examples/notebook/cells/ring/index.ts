/** Chapter: why a ring still guides. */
import type { Chapter } from '../../cell.ts';
import { breakTheCenter } from './lesson.ts';
import { noise } from './noise.ts';
import { profile } from './profile.ts';
import { slope } from './slope.ts';

export const ring: Chapter = {
  id: 'why-a-ring',
  title: 'Why a ring still guides',
  lead: 'Out of focus the star becomes a ring. The ring stays in place, but its position becomes noisier.',
  cells: [profile, slope, noise, breakTheCenter],
};
