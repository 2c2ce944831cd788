/** One card of a FITS header: 80 characters with a keyword, a value and a comment (FITS 4.0, section 4). */

/** A complex value, written `(re, im)`. */
export interface FitsComplex {
  /** Real part. */
  readonly re: number;
  /** Imaginary part. */
  readonly im: number;
}

/** Value of a header card. */
export type FitsValue = string | number | boolean | FitsComplex;

/** One keyword of a header. */
export interface FitsCard {
  /** Place in the header, from 1. */
  readonly number: number;
  /** Upper case, without the word HIERARCH; '' for a blank card. */
  readonly keyword: string;
  /** Absent in commentary cards (COMMENT, HISTORY, blank) and where the header leaves the value undefined. */
  readonly value?: FitsValue;
  /** Comment after the slash, or the text of a commentary card. */
  readonly comment: string;
}

export const cardLength = 80;

/** Receives what was odd about a card; reading goes on. */
export type Complain = (what: string) => void;

const number = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:[EDed][+-]?\d+)?$/;
const complex = /^\(\s*([^,()\s]+)\s*,\s*([^,()\s]+)\s*\)$/;

/**
 * Read the 80 characters of a card. Never fails: what cannot be understood is kept as text and complained
 * about.
 *
 * ```ts
 * parseCard("GAIN    =                 1.5D0 / electrons per ADU".padEnd(80), 5, console.warn).value   // 1.5
 * ```
 */
export function parseCard(text: string, place: number, complain: Complain): FitsCard {
  if (/[^ -~]/.test(text)) complain('holds bytes that are not printable ASCII');
  if (text.startsWith('HIERARCH ')) {
    const equals = text.indexOf('=');
    if (equals > 0) return valued(place, text.slice(9, equals).trim(), text.slice(equals + 1), complain);
  }
  const keyword = text.slice(0, 8).trimEnd();
  const commentary =
    keyword === '' || keyword === 'COMMENT' || keyword === 'HISTORY' || keyword === 'CONTINUE';
  if (commentary || text[8] !== '=') return { number: place, keyword, comment: text.slice(8).trimEnd() };
  if (text[9] !== ' ') complain(`${keyword} has no space after its equals sign`);
  return valued(place, keyword, text.slice(9), complain);
}

/** The string that a CONTINUE card adds to the value before it, or undefined when it holds none. */
export function parseContinuation(card: FitsCard): { value: string; comment: string } | undefined {
  const text = card.comment.trimStart();
  if (!text.startsWith("'")) return undefined;
  const { value, rest } = quoted(text);
  return { value, comment: commentOf(rest) };
}

function valued(place: number, name: string, field: string, complain: Complain): FitsCard {
  const keyword = name.toUpperCase();
  if (!/^[A-Z0-9_ -]*$/.test(name)) complain(`keyword '${name}' has characters outside A-Z, 0-9, - and _`);
  const text = field.trimStart();
  if (text.startsWith("'")) {
    const { value, rest, closed } = quoted(text);
    if (!closed) complain(`${keyword} has a string without closing quote`);
    else if (!/^\s*(\/|$)/.test(rest)) complain(`${keyword} has text between its string and the slash`);
    return { number: place, keyword, value, comment: commentOf(rest) };
  }
  const slash = text.indexOf('/');
  const word = (slash < 0 ? text : text.slice(0, slash)).trim();
  const comment = slash < 0 ? '' : text.slice(slash + 1).trim();
  if (word === '') return { number: place, keyword, comment };
  const value = parseWord(word);
  if (value === undefined) complain(`${keyword} has a value that is no FITS value: ${word}`);
  return { number: place, keyword, value: value ?? word, comment };
}

/** A string in quotes: a doubled quote stands for one, blanks at the end do not count. */
function quoted(text: string): { value: string; rest: string; closed: boolean } {
  let close = text.indexOf("'", 1);
  while (close >= 0 && text[close + 1] === "'") close = text.indexOf("'", close + 2);
  const inside = close < 0 ? text.slice(1) : text.slice(1, close);
  const value = inside.replaceAll("''", "'").trimEnd();
  return { value, rest: close < 0 ? '' : text.slice(close + 1), closed: close >= 0 };
}

function commentOf(rest: string): string {
  const slash = rest.indexOf('/');
  return slash < 0 ? '' : rest.slice(slash + 1).trim();
}

function parseWord(word: string): FitsValue | undefined {
  if (word === 'T') return true;
  if (word === 'F') return false;
  const parts = complex.exec(word);
  if (parts === null) return parseNumber(word);
  const re = parseNumber(parts[1]!);
  const im = parseNumber(parts[2]!);
  return re === undefined || im === undefined ? undefined : { re, im };
}

/** Fortran forms too: `1.5D3`. Undefined when it is no number or has no double precision value. */
function parseNumber(word: string): number | undefined {
  if (!number.test(word)) return undefined;
  const value = Number(word.replace(/[Dd]/, 'E'));
  return Number.isFinite(value) ? value : undefined;
}
