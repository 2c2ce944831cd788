/** Candidates in order of how far they stand out. */
import type { Candidate } from './box-contrast.ts';

/** The candidate of highest significance first: a binary heap. */
export class CandidateQueue {
  readonly #heap: Candidate[] = [];

  constructor(candidates: readonly Candidate[]) {
    for (const candidate of candidates) this.push(candidate);
  }

  push(candidate: Candidate): void {
    const heap = this.#heap;
    let i = heap.length;
    heap.push(candidate);
    for (let up = (i - 1) >> 1; i > 0 && heap[up].significance < candidate.significance; up = (i - 1) >> 1) {
      heap[i] = heap[up];
      i = up;
    }
    heap[i] = candidate;
  }

  pop(): Candidate | undefined {
    const heap = this.#heap;
    const top = heap[0];
    const last = heap.pop();
    if (last === undefined || heap.length === 0) return top;
    let i = 0;
    for (;;) {
      let child = 2 * i + 1;
      if (child >= heap.length) break;
      if (child + 1 < heap.length && heap[child + 1].significance > heap[child].significance) child++;
      if (heap[child].significance <= last.significance) break;
      heap[i] = heap[child];
      i = child;
    }
    heap[i] = last;
    return top;
  }
}
