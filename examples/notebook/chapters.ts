/** The chapters, in the order in which they are read. */
import type { Chapter } from './cell.ts';
import { refocus } from './cells/refocus/index.ts';

export const chapters: readonly Chapter[] = [refocus];
