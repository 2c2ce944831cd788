/** Numbers for people: as many digits as the uncertainty leaves meaning. */
import type { Estimate } from './trials/statistics.ts';

/** `0.212 ± 0.004`: the error to one digit (two when it starts with 1), the value to the same place. */
export function withError({ value, standardError }: Estimate): string {
  if (!(standardError > 0)) return significant(value, 3);
  const places = Math.min(12, Math.max(0, errorPlaces(standardError)));
  return `${value.toFixed(places)} ± ${standardError.toFixed(places)}`;
}

/** A number to so many significant digits, without an exponent for everyday sizes. */
export function significant(value: number, digits: number): string {
  if (value === 0 || !Number.isFinite(value)) return String(value);
  const places = digits - 1 - Math.floor(Math.log10(Math.abs(value)));
  return Math.abs(value) < 1e-6 || Math.abs(value) >= 1e9
    ? value.toPrecision(digits)
    : value.toFixed(Math.min(12, Math.max(0, places)));
}

/** A fraction as a percentage: `0.4 %`, `< 0.1 %`. */
export function percent(fraction: number): string {
  const value = 100 * fraction;
  if (value > 0 && value < 0.05) return '< 0.1 %';
  return `${value.toFixed(value < 10 ? 1 : 0)} %`;
}

function errorPlaces(standardError: number): number {
  const exponent = Math.floor(Math.log10(standardError));
  const leading = standardError / 10 ** exponent;
  return (leading < 1.95 ? 1 : 0) - exponent;
}
