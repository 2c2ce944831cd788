/** The chapters, in the order in which they are read. */
import type { Chapter } from './cell.ts';
import { howWeKnow } from './cells/checks/index.ts';
import { edge } from './cells/edge/index.ts';
import { frame } from './cells/frame/index.ts';
import { measuring } from './cells/measuring/index.ts';
import { starOdds } from './cells/odds/index.ts';
import { refocus } from './cells/refocus/index.ts';
import { ring } from './cells/ring/index.ts';
import { tracking } from './cells/tracking/index.ts';

export const chapters: readonly Chapter[] = [
  refocus,
  ring,
  measuring,
  edge,
  starOdds,
  tracking,
  frame,
  howWeKnow,
];
