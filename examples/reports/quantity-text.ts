/** Quantities as text: shifts with their sign, intervals in brackets. */
import type { Interval } from '@holdfast/sim';
import { farOutside, significant } from '@holdfast/sim/internal';

/** A focus shift or a move, um: to the um from 100 um on, to three digits below. */
export function signedUm(value: number): string {
  const text = shownUm(Math.abs(value));
  return Number(text) === 0 ? text : `${value > 0 ? '+' : '-'}${text}`;
}

/** A length in um without its sign where it has none. */
export function shownUm(value: number): string {
  return Math.abs(value) >= 100 ? value.toFixed(0) : significant(Number(value.toFixed(1)), 3);
}

/** `62 [52, 72]`, whatever the text of a number. */
export function intervalText({ value, low, high }: Interval, text: (value: number) => string): string {
  return `${text(value)} [${text(low)}, ${text(high)}]`;
}

/** A share as a percentage without the sign: `44`, `0.4`. */
export function percentText(share: number): string {
  const value = 100 * share;
  return value >= 10 ? value.toFixed(0) : value < 0.05 ? '0' : value.toFixed(1);
}

/**
 * A share of the budget as a percentage; shares that lie far beyond it are no more than a direction:
 * `more than 1000`.
 */
export function shareText(share: number): string {
  return share > farOutside ? `more than ${100 * farOutside}` : percentText(share);
}

/** `A, B and C`. */
export function listText(words: readonly string[]): string {
  return words.length < 2
    ? words.join('')
    : `${words.slice(0, -1).join(', ')} and ${words[words.length - 1]}`;
}
