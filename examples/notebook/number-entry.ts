/** A number as people type it: with a comma or a point, with a true minus sign or a hyphen. */

/** @returns `undefined` for an empty text, and the text itself where it is no number */
export function enteredNumber(text: string): number | string | undefined {
  const trimmed = text.trim().replace(',', '.').replace('−', '-');
  if (trimmed === '') return undefined;
  const number = Number(trimmed);
  return Number.isFinite(number) ? number : text;
}
