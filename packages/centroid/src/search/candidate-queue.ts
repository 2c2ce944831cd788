/** Candidates in order of how far they stand out. */
import type { Candidate } from './box-contrast.ts';

/** The candidate of highest significance first. */
export class CandidateQueue {
  /** Highest last: few come back, and those not far from the end. */
  readonly #sorted: Candidate[];

  constructor(candidates: readonly Candidate[]) {
    this.#sorted = [...candidates].sort((a, b) => a.significance - b.significance);
  }

  push(candidate: Candidate): void {
    const sorted = this.#sorted;
    let at = sorted.length;
    while (at > 0 && sorted[at - 1].significance > candidate.significance) at--;
    sorted.splice(at, 0, candidate);
  }

  pop(): Candidate | undefined {
    return this.#sorted.pop();
  }
}
