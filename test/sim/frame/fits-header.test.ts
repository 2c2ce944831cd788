import { type FitsHeader, type FitsImage, fitsValue, readFits } from '@holdfast/sim';
import { fitsNumber, fitsText } from '@holdfast/sim/internal';
import { expect, test } from 'vitest';
import { card, fitsUnit, mandatoryCards } from './fits-bytes.ts';

/**
 * The header and warnings of a 1 x 1 image with these cards after the mandatory ones, which are cards 1 to 5.
 */
function read(...cards: string[]): FitsImage {
  const result = readFits(fitsUnit([...mandatoryCards(8, [1, 1]), ...cards], new Uint8Array(1)));
  if (!result.ok) throw new Error(result.message);
  return result;
}

const valueIn = (text: string): unknown => fitsValue(read(`KEY     = ${text}`).header, 'KEY');
const cardOf = (header: FitsHeader, keyword: string) => header.cards.find((c) => c.keyword === keyword);

test('numbers: whole, real, exponents of E and D, signs, without leading or trailing digits', () => {
  expect(valueIn('                  42')).toBe(42);
  expect(valueIn('-7')).toBe(-7);
  expect(valueIn('+3.25')).toBe(3.25);
  expect(valueIn('1.5E-3')).toBe(0.0015);
  expect(valueIn('1.5D3')).toBe(1500);
  expect(valueIn('-2.5d-2')).toBe(-0.025);
  expect(valueIn('.5')).toBe(0.5);
  expect(valueIn('5.')).toBe(5);
});

test('logicals, complex numbers and undefined values', () => {
  expect(valueIn('                   T')).toBe(true);
  expect(valueIn('F / no')).toBe(false);
  expect(valueIn('(1.5, -2.0E1)')).toEqual({ re: 1.5, im: -20 });
  expect(valueIn('  / nothing is known')).toBeUndefined();
});

test('strings: doubled quotes, slashes inside, leading blanks kept, trailing blanks dropped, empty', () => {
  expect(valueIn("'O''Neill'")).toBe("O'Neill");
  expect(valueIn("''''")).toBe("'");
  expect(valueIn("'a/b'   / comment")).toBe('a/b');
  expect(valueIn("'  x  '")).toBe('  x');
  expect(valueIn("''")).toBe('');
});

test('the comment begins after the slash that follows the value', () => {
  const { header, warnings } = read(
    "FILTER  = 'R/I '               / red, 'not' green",
    card('GAIN', '1.5 / e/ADU'),
  );
  expect(cardOf(header, 'FILTER')).toEqual({
    number: 6,
    keyword: 'FILTER',
    value: 'R/I',
    comment: "red, 'not' green",
  });
  expect(cardOf(header, 'GAIN')?.comment).toBe('e/ADU');
  expect(warnings).toEqual([]);
});

test('keywords are found in any case; number and text lookups do not mix types', () => {
  const { header } = read(card('EXPTIME', 2.5), "OBJECT  = 'M 31    '");
  expect(fitsNumber(header, 'exptime')).toBe(2.5);
  expect(fitsText(header, 'exptime')).toBeUndefined();
  expect(fitsText(header, 'Object')).toBe('M 31');
  expect(fitsNumber(header, 'OBJECT')).toBeUndefined();
});

test('a long string goes on in CONTINUE cards, its comments too', () => {
  const { header, warnings } = read(
    "LONG    = 'The first part, &' / one",
    "CONTINUE  'the second ''part'', &'",
    "CONTINUE  'the end' / two",
    card('NEXT', 1),
  );
  expect(fitsText(header, 'LONG')).toBe("The first part, the second 'part', the end");
  expect(cardOf(header, 'LONG')?.comment).toBe('one two');
  expect(fitsNumber(header, 'NEXT')).toBe(1);
  expect(warnings).toEqual([]);
});

test('an ampersand that nothing continues is part of the string; a CONTINUE that continues nothing is reported', () => {
  const { header, warnings } = read("LAW     = 'Fish &'", card('NEXT', 1), "CONTINUE  'chips'");
  expect(fitsText(header, 'LAW')).toBe('Fish &');
  expect(warnings).toEqual(['HDU 0 card 8 CONTINUE does not follow a string that ends in &']);
});

test('HIERARCH keywords are known by their words', () => {
  const { header, warnings } = read(
    'HIERARCH ESO DET OUT1 GAIN = 0.53 / e-/ADU',
    "HIERARCH ESO NAME = 'x''y'",
  );
  expect(fitsNumber(header, 'ESO DET OUT1 GAIN')).toBe(0.53);
  expect(fitsText(header, 'eso name')).toBe("x'y");
  expect(warnings).toEqual([]);
});

test('commentary cards keep their text, with an equals sign too', () => {
  const { header, warnings } = read(
    'HISTORY = flat fielded',
    'COMMENT by hand',
    '',
    '          blank keyword',
  );
  expect(header.cards.slice(5).map((c) => [c.keyword, c.comment, 'value' in c])).toEqual([
    ['HISTORY', '= flat fielded', false],
    ['COMMENT', 'by hand', false],
    ['', '', false],
    ['', '  blank keyword', false],
  ]);
  expect(warnings).toEqual([]);
});

test('a repeated keyword: the first one counts, and it is reported once with its card number', () => {
  const { header, warnings } = read(card('GAIN', 1), card('GAIN', 2), card('GAIN', 3));
  expect(fitsNumber(header, 'GAIN')).toBe(1);
  expect(warnings).toEqual(['HDU 0 card 6 GAIN stands 3 times: the first one is used']);
});

test.each([
  ["NAME    = 'no end", 'no end', 'NAME has a string without closing quote'],
  ["NAME    = 'a' b / c", 'a', 'NAME has text between its string and the slash'],
  ['NAME    = 1.2.3', '1.2.3', 'NAME has a value that is no FITS value: 1.2.3'],
  ['NAME    = NaN', 'NaN', 'NAME has a value that is no FITS value: NaN'],
  ['NAME    = 1E999', '1E999', 'NAME has a value that is no FITS value: 1E999'],
  ['NAME    = (1, x)', '(1, x)', 'NAME has a value that is no FITS value: (1, x)'],
  ['NAME    =7', 7, 'NAME has no space after its equals sign'],
  ['name    = 7', 7, "keyword 'name' has characters outside A-Z, 0-9, - and _"],
  ['NAME    = 7 / \u00b5m', 7, 'holds bytes that are not printable ASCII'],
])('malformed but read: %s', (text, value, complaint) => {
  const { header, warnings } = read(card('GOOD', 1), text);
  expect(fitsValue(header, 'NAME')).toBe(value);
  expect(warnings).toEqual([`HDU 0 card 7 ${complaint}`]);
});

test('more than fifty warnings are counted, not listed', () => {
  const { warnings } = read(...Array.from({ length: 60 }, (_, k) => `K${String(k).padEnd(7)}=7`));
  expect(warnings).toHaveLength(51);
  expect(warnings[50]).toBe('HDU 0 has 10 more oddities in its header');
});

test('a header is plain data', () => {
  const { header } = read(card('GAIN', 1.5), "OBJECT  = 'M 31'");
  expect(JSON.parse(JSON.stringify(header))).toEqual(header);
});
