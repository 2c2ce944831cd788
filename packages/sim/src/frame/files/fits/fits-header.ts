/**
 * The header of one FITS unit: its cards up to END, long strings joined, oddities reported by card number.
 */
import { cardLength, type FitsCard, type FitsValue, parseCard, parseContinuation } from './fits-card.ts';

export const blockLength = 2880;

/** More warnings than this are counted, not listed. */
const warningsListed = 50;

/** Plain data: it can be sent to a worker or written as JSON. */
export interface FitsHeader {
  /** Its cards, in the order of the file. */
  readonly cards: readonly FitsCard[];
}

/**
 * Value of a keyword, of its first card when it is repeated; undefined when it is absent or has no value.
 *
 * ```ts
 * fitsValue({ cards: [{ number: 1, keyword: 'GAIN', value: 1.5, comment: '' }] }, 'gain')   // 1.5
 * ```
 */
export function fitsValue(header: FitsHeader, keyword: string): FitsValue | undefined {
  return findCard(header, keyword)?.value;
}

/** Value of a keyword when it is a number, else undefined. */
export function fitsNumber(header: FitsHeader, keyword: string): number | undefined {
  const value = fitsValue(header, keyword);
  return typeof value === 'number' ? value : undefined;
}

/** Value of a keyword when it is a string, else undefined. */
export function fitsText(header: FitsHeader, keyword: string): string | undefined {
  const value = fitsValue(header, keyword);
  return typeof value === 'string' ? value : undefined;
}

export function findCard(header: FitsHeader, keyword: string): FitsCard | undefined {
  const wanted = keyword.toUpperCase();
  return header.cards.find((card) => card.keyword === wanted);
}

export interface HeaderBlock {
  readonly header: FitsHeader;
  /** First byte after the header's last block. */
  readonly end: number;
  readonly warnings: readonly string[];
}

/** Cards from byte `start` up to END, or undefined when no END card follows. */
export function readHeaderBlock(bytes: Uint8Array, start: number): HeaderBlock | undefined {
  const count = countCards(bytes, start);
  if (count < 0) return undefined;
  const warnings: string[] = [];
  let unlisted = 0;
  const warn = (text: string): void => {
    // a hostile header may earn a warning for each card
    if (warnings.length < warningsListed) warnings.push(text);
    else unlisted++;
  };
  const cards: FitsCard[] = [];
  for (let k = 0; k < count; k++) {
    const place = k + 1;
    const card = parseCard(textAt(bytes, start + k * cardLength), place, (what) =>
      warn(`card ${place} ${what}`),
    );
    if (card.keyword !== 'CONTINUE') cards.push(card);
    else if (!extend(cards, card)) warn(`card ${place} CONTINUE does not follow a string that ends in &`);
  }
  reportRepeats(cards, warn);
  if (unlisted > 0) warnings.push(`has ${unlisted} more oddities in its header`);
  const end = start + Math.ceil(((count + 1) * cardLength) / blockLength) * blockLength;
  return { header: { cards }, end, warnings };
}

/** Cards before END, or -1. */
function countCards(bytes: Uint8Array, start: number): number {
  for (let at = start, k = 0; at + cardLength <= bytes.length; at += cardLength, k++)
    // 'E', 'N', 'D' and a blank rest of the keyword field; what follows it is only a flaw
    if (bytes[at] === 69 && bytes[at + 1] === 78 && bytes[at + 2] === 68 && isBlank(bytes, at + 3, at + 8))
      return k;
  return -1;
}

function isBlank(bytes: Uint8Array, from: number, to: number): boolean {
  for (let k = from; k < to; k++) if (bytes[k] !== 32) return false;
  return true;
}

export function textAt(bytes: Uint8Array, start: number, length = cardLength): string {
  return String.fromCharCode(...bytes.subarray(start, start + length));
}

/** Join a CONTINUE card to the string before it; false when there is none to join. */
function extend(cards: FitsCard[], card: FitsCard): boolean {
  const last = cards[cards.length - 1];
  const more = parseContinuation(card);
  if (more === undefined || typeof last?.value !== 'string' || !last.value.endsWith('&')) return false;
  const comment = [last.comment, more.comment].filter((part) => part !== '').join(' ');
  cards[cards.length - 1] = { ...last, value: (last.value.slice(0, -1) + more.value).trimEnd(), comment };
  return true;
}

/** A keyword that stands twice has no certain value (FITS 4.0, 4.1.2.1): the first counts, and it is said. */
function reportRepeats(cards: readonly FitsCard[], warn: (text: string) => void): void {
  const first = new Map<string, { card: FitsCard; times: number }>();
  for (const card of cards) {
    if (card.value === undefined) continue;
    const seen = first.get(card.keyword);
    if (seen === undefined) first.set(card.keyword, { card, times: 1 });
    else seen.times++;
  }
  for (const [keyword, { card, times }] of first)
    if (times > 1) warn(`card ${card.number} ${keyword} stands ${times} times: the first one is used`);
}
