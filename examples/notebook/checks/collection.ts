/** The published numbers of one test file, as they register themselves while it is loaded. */
import type { PublishedValue } from '../../../test/published/published.ts';

export interface Collected {
  readonly published: PublishedValue;
  /** The titles of the groups around it. */
  readonly group: string;
  readonly ours: () => number;
}

let numbers: Collected[] = [];
let others = 0;
const groups: string[] = [];

export function inGroup(title: string, body: () => void): void {
  groups.push(title);
  body();
  groups.pop();
}

export function collect(published: PublishedValue, ours: () => number): void {
  numbers.push({ published, group: groups.join(', '), ours });
}

/** Tests that compare something other than one number. */
export function counted(tests: number): void {
  others += tests;
}

/** What was registered since the last time. */
export function take(): { readonly numbers: readonly Collected[]; readonly others: number } {
  const taken = { numbers, others };
  numbers = [];
  others = 0;
  return taken;
}
