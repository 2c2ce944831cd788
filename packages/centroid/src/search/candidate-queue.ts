/** Candidates in order of how far they stand out, the one of highest significance last. */
import type { Candidate } from './box-contrast.ts';

/** A queue of these; its last one is the next. */
export const queueOf = (candidates: readonly Candidate[]): Candidate[] =>
  [...candidates].sort((a, b) => a.significance - b.significance);

/** Put one back into a queue: few come back, and those not far from the end. */
export function putBack(queue: Candidate[], candidate: Candidate): void {
  let at = queue.length;
  while (at > 0 && queue[at - 1].significance > candidate.significance) at--;
  queue.splice(at, 0, candidate);
}
