/** A number with so many decimals, and no minus sign before a zero. */
export function plainFixed(value: number, decimals: number): string {
  const text = value.toFixed(decimals);
  return Number(text) === 0 ? text.replace('-', '') : text;
}
