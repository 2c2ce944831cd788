/** Numbers for people: as many digits as the uncertainty leaves meaning. */
import type { Estimate } from './trials/statistics.ts';

/** `0.212 ± 0.004`: the error to one digit (two when it starts with 1), the value to the same place. */
export function withError({ value, standardError }: Estimate): string {
  if (!(standardError > 0)) return significant(value, 3);
  const places = Math.min(12, Math.max(0, errorPlaces(standardError)));
  return `${value.toFixed(places)} ± ${standardError.toFixed(places)}`;
}

/**
 * As many digits as the decision needs, from a fiftieth of what is allowed to 20 times as much: `0.6 ± 0.1`,
 * `less than 0.1`, `more than 100`. An error that these digits do not show is left out.
 */
export function decisionText({ value, standardError }: Estimate, allowed: number): string {
  if (!(allowed > 0 && allowed < Infinity)) return withError({ value, standardError });
  const finest = allowed / 50;
  const most = 20 * allowed;
  if (value + 2 * standardError < finest) return `less than ${significant(finest, 1)}`;
  if (value - 2 * standardError > most) return `more than ${significant(most, 1)}`;
  const needed = Math.ceil(-Math.log10(finest));
  const told = standardError > 0 ? errorPlaces(standardError) : needed;
  const places = Math.min(12, Math.max(0, Math.min(needed, told)));
  const error = standardError.toFixed(places);
  return `${value.toFixed(places)}${Number(error) > 0 ? ` ± ${error}` : ''}`;
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
