/** What the tests of published numbers call, as the page has it: each number goes into the collection. */

import type { PublishedValue } from '../../../test/published/published.ts';
import { collect } from './collection.ts';

export type { PublishedValue };

export const checkPublished = (published: PublishedValue, ours: () => number): void =>
  collect(published, ours);
