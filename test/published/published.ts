/** One number printed somewhere outside this project, and how near to it we must come. */
import { test } from 'vitest';
import { expectWithin } from '../expect-within.ts';

export interface PublishedValue {
  /** What the number is, with its unit. */
  readonly what: string;
  readonly value: number;
  /** Largest allowed difference, in the unit of the value. */
  readonly tolerance: number;
  /** Paper, table or equation; 'from memory' where the text was not seen; 'common practice, no source'. */
  readonly source: string;
  /** Why the tolerance is what it is, and any difference of convention. */
  readonly note: string;
}

/** A test whose title names the number and its source. */
export function checkPublished(published: PublishedValue, ours: () => number): void {
  test(`${published.what} = ${published.value} [${published.source}]`, () => {
    expectWithin(ours(), published.value, published.tolerance, published.note);
  });
}
