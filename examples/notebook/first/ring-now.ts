/**
 * The one number that the page is asked with: the ring as it is now, px; its distance from focus in um is
 * another view of it.
 */
import type { Kept } from '../state/page-state.ts';

export interface RingNow extends Kept {
  /** What was entered, px: a text where it is no number, `undefined` where it is empty. */
  value: number | string | undefined;
  set(value: number | string | undefined): void;
}

/** Rings beyond this are not simulated. */
export const largestRingPx = 300;

export function ringNow(startPx: number): RingNow {
  const target = Object.assign(new EventTarget(), { value: startPx as number | string | undefined });
  return Object.assign(target, {
    set(value: number | string | undefined) {
      if (target.value === value) return;
      target.value = value;
      target.dispatchEvent(new Event('input'));
    },
  });
}

export function ringFault(value: number | string | undefined): string | undefined {
  return typeof value === 'number' && value >= 0 && value <= largestRingPx
    ? undefined
    : `the ring must be a number from 0 to ${largestRingPx} px`;
}
