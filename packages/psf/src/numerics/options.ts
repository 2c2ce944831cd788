/** Options by their names: a word that nobody reads is refused, with the nearest one that is known. */

import { requireObject } from './require.ts';

/** The words of a text. */
type WordsOf<Text extends string> = Text extends `${infer First} ${infer Rest}`
  ? First | WordsOf<Rest>
  : Text;
type FieldsOf<T> = T extends unknown ? keyof T : never;

/**
 * An object none of whose names is unknown. Fields that are `undefined` count as left out, under any name.
 *
 * @param name   what the object is called in a message; the compiler refuses a call whose texts forget a
 *   field of the object
 * @param known  all names that are allowed, with spaces between them, in any number of texts
 * @returns the object
 * @throws TypeError when it is no object, or naming the unknown name, its value and the nearest known one
 */
export function requireNames<T extends object, Texts extends readonly string[]>(
  name: FieldsOf<T> extends WordsOf<Texts[number]>
    ? string
    : { forgotten: Exclude<FieldsOf<T>, WordsOf<Texts[number]>> },
  object: T,
  ...known: Texts
): T {
  requireObject(String(name), object);
  const names = known.flatMap((text) => text.split(' '));
  for (const key in object) {
    if (object[key] === undefined || names.includes(key)) continue;
    const near = nearestName(key, names);
    const hint = near === undefined ? '' : ` (did you mean ${near}?)`;
    throw new TypeError(`${name}.${key} is not known${hint}; ${name} may hold ${names.join(', ')}`);
  }
  return object;
}

/**
 * The name that needs the fewest changes of a letter, if that is less than half of them; a part of a name is
 * near it, too.
 */
export function nearestName(given: string, names: readonly string[]): string | undefined {
  const word = given.toLowerCase();
  let best: string | undefined;
  let least = Infinity;
  for (const name of names) {
    const other = name.toLowerCase();
    const isPart = Math.min(word.length, other.length) > 2 && (other.includes(word) || word.includes(other));
    const changes = isPart ? 1 : editDistance(word, other);
    if (changes < least && 2 * changes < Math.max(word.length, other.length)) {
      least = changes;
      best = name;
    }
  }
  return best;
}

/** Letters to insert, leave out or replace (Levenshtein 1966). */
function editDistance(from: string, to: string): number {
  let row = Array.from({ length: to.length + 1 }, (_, k) => k);
  for (let i = 1; i <= from.length; i++) {
    const next = [i];
    for (let k = 1; k <= to.length; k++)
      next[k] = Math.min(row[k] + 1, next[k - 1] + 1, row[k - 1] + (from[i - 1] === to[k - 1] ? 0 : 1));
    row = next;
  }
  return row[to.length];
}
