/** Tells whether any of some values is another one than last time: what shows the same is not drawn anew. */
export function newsOf(): (...values: readonly unknown[]) => boolean {
  let last: readonly unknown[] | undefined;
  return (...values) => {
    const before = last;
    last = values;
    return before === undefined || values.some((value, i) => value !== before[i]);
  };
}
