/** Header keywords as the 80-character cards of FITS 4.0, section 4. */
import { cardLength, type FitsValue } from './fits-card.ts';

/** A keyword to write. Without a value: a commentary card (COMMENT, HISTORY, blank) or an undefined value. */
export interface FitsKeyword {
  /**
   * Up to 8 of A-Z, 0-9, - and _; a longer one, or one with spaces, is written by the HIERARCH convention.
   */
  readonly keyword: string;
  /** Its value; a card without one is a comment. */
  readonly value?: FitsValue;
  /** Cut where the card ends, but the text of a commentary card goes on in further cards. */
  readonly comment?: string;
}

/** The 80-character cards of these keywords, without END. */
export function formatCards(keywords: readonly FitsKeyword[]): string[] {
  const cards = keywords.flatMap(formatKeyword);
  if (!cards.some((card) => card.startsWith('CONTINUE'))) return cards;
  // FITS 4.0 needs no such notice, but readers older than it look for one
  return [
    ...cards,
    ...formatKeyword({ keyword: 'LONGSTRN', value: 'OGIP 1.0', comment: 'CONTINUE is used' }),
  ];
}

function formatKeyword({ keyword, value, comment = '' }: FitsKeyword): string[] {
  requirePrintable(`comment of ${keyword}`, comment);
  if (keyword === 'COMMENT' || keyword === 'HISTORY' || keyword === '') return commentary(keyword, comment);
  const head = `${nameField(keyword)}= `;
  if (value === undefined) return [withComment(head, comment)];
  if (typeof value === 'string') return text(keyword, head, value, comment);
  // fixed format: the value ends in column 30
  return [withComment(head + formatValue(keyword, value).padStart(30 - head.length), comment)];
}

function commentary(keyword: string, comment: string): string[] {
  const room = cardLength - 8;
  const cards: string[] = [];
  for (let at = 0; at === 0 || at < comment.length; at += room)
    cards.push((keyword.padEnd(8) + comment.slice(at, at + room)).padEnd(cardLength));
  return cards;
}

function nameField(keyword: string): string {
  if (/^[A-Z0-9_-]{1,8}$/.test(keyword)) return keyword.padEnd(8);
  if (/^[A-Z0-9_-]+( [A-Z0-9_-]+)*$/.test(keyword) && keyword.length <= 40) return `HIERARCH ${keyword} `;
  throw new RangeError(
    `keyword must be words of A-Z, 0-9, - and _, at most 40 characters, got ${JSON.stringify(keyword)}`,
  );
}

function formatValue(keyword: string, value: number | boolean | Exclude<FitsValue, string>): string {
  if (typeof value === 'boolean') return value ? 'T' : 'F';
  if (typeof value === 'number') return formatNumber(keyword, value);
  return `(${formatNumber(keyword, value.re)}, ${formatNumber(keyword, value.im)})`;
}

function formatNumber(keyword: string, value: number): string {
  if (!Number.isFinite(value)) throw new RangeError(`${keyword} must be a finite number, got ${value}`);
  const shortest = String(value).toUpperCase();
  // a whole number too long for an integer of other readers is written as a real one
  return Number.isInteger(value) && !Number.isSafeInteger(value) && !shortest.includes('E')
    ? `${shortest}.`
    : shortest;
}

/** A string; one that does not fit goes on in CONTINUE cards (FITS 4.0, 4.2.1.2). */
function text(keyword: string, head: string, value: string, comment: string): string[] {
  requirePrintable(`value of ${keyword}`, value);
  const whole = `'${doubled(value).padEnd(8)}'`;
  // '&' at the end of a string that fits would ask for a continuation
  if (head.length + whole.length <= cardLength && !value.trimEnd().endsWith('&'))
    return [withComment(head + whole.padEnd(30 - head.length), comment)];
  const cards: string[] = [];
  // blanks at the end of a string do not count
  let rest = value.trimEnd();
  for (let start = head; ; start = 'CONTINUE  ') {
    const room = cardLength - start.length - 2;
    const last = doubled(rest).length <= room && !rest.endsWith('&');
    if (last) {
      cards.push(withComment(`${start}'${doubled(rest)}'`, comment));
      return cards;
    }
    const part = piece(rest, room - 1);
    cards.push(`${start}'${doubled(part)}&'`.padEnd(cardLength));
    rest = rest.slice(part.length);
  }
}

/** As much of the text as fits into `room` characters once its quotes are doubled. */
function piece(value: string, room: number): string {
  let length = Math.min(value.length, room);
  while (doubled(value.slice(0, length)).length > room) length--;
  return value.slice(0, length);
}

const doubled = (value: string): string => value.replaceAll("'", "''");

function withComment(card: string, comment: string): string {
  const full = comment === '' ? card : `${card} / ${comment}`;
  return full.slice(0, cardLength).padEnd(cardLength);
}

function requirePrintable(what: string, value: string): void {
  const odd = /[^ -~]/.exec(value);
  if (odd !== null)
    throw new RangeError(
      `${what} must be printable ASCII, got character code ${value.charCodeAt(odd.index)} at ${odd.index}`,
    );
}
