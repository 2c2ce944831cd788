/**
 * Checks of arguments: a bad call throws at once, and its message says what was wrong, the value got and what
 * is allowed.
 */

/** A value as a message shows it: whatever it is, it does not throw. */
export function shown(value: unknown): string {
  if (typeof value === 'function') return 'a function';
  if (typeof value === 'bigint') return `${value}n`;
  if (typeof value !== 'object' && typeof value !== 'string') return String(value);
  try {
    return JSON.stringify(value) ?? String(value);
  } catch {
    return Object.prototype.toString.call(value);
  }
}

function refuse(name: string, value: unknown, allowed: string): never {
  const got = shown(value);
  throw typeof value === 'number'
    ? new RangeError(`${name} must be ${allowed}, got ${got}`)
    : new TypeError(`${name} must be ${allowed}, got ${got}`);
}

/** An object, whatever is in it. */
export function requireObject<T extends object>(name: string, value: T): T {
  if (typeof value !== 'object' || value === null)
    throw new TypeError(`${name} must be an object, got ${shown(value)}`);
  return value;
}

/**
 * No quantity of optics or of a camera is larger, nor smaller where it divides; what is made of several stays
 * finite.
 */
const largest = 1e30;

function requireSize(name: string, value: number): number {
  if (Math.abs(value) > largest) refuse(name, value, `from ${-largest} to ${largest}`);
  return value;
}

/** A finite number. */
export function requireFinite(name: string, value: number): number {
  if (typeof value !== 'number' || !Number.isFinite(value)) refuse(name, value, 'a finite number');
  return requireSize(name, value);
}

/** A finite number > 0. */
export function requirePositive(name: string, value: number): number {
  requireAboveZero(name, value);
  if (value < 1 / largest) refuse(name, value, `at least ${1 / largest}`);
  return value;
}

/** A finite number > 0, however small: for what nothing is divided by. */
export function requireAboveZero(name: string, value: number): number {
  if (typeof value !== 'number' || !(value > 0 && value < Infinity))
    refuse(name, value, 'a finite number > 0');
  return requireSize(name, value);
}

/** A finite number >= 0. */
export function requireNonNegative(name: string, value: number): number {
  if (typeof value !== 'number' || !(value >= 0 && value < Infinity))
    refuse(name, value, 'a finite number >= 0');
  return requireSize(name, value);
}

/** A number with low <= value < high, as a linear obstruction ratio has with 0 and 1. */
export function requireBelow(name: string, value: number, low: number, high: number): number {
  if (typeof value !== 'number' || !(value >= low && value < high))
    refuse(name, value, `in [${low}, ${high})`);
  return value;
}

/** A number with low <= value <= high. */
export function requireWithin(name: string, value: number, low: number, high: number): number {
  if (typeof value !== 'number' || !(value >= low && value <= high))
    refuse(name, value, `in [${low}, ${high}]`);
  return value;
}

/** A whole number with low <= value <= high. */
export function requireInteger(name: string, value: number, low: number, high: number): number {
  if (!Number.isInteger(value) || value < low || value > high)
    refuse(name, value, `a whole number from ${low} to ${high}`);
  return value;
}

/** A text. */
export function requireText(name: string, value: string): string {
  if (typeof value !== 'string') throw new TypeError(`${name} must be a text, got ${shown(value)}`);
  return value;
}

/** A list, whatever is in it. */
export function requireList<T>(name: string, value: readonly T[]): readonly T[] {
  if (!Array.isArray(value)) throw new TypeError(`${name} must be a list, got ${shown(value)}`);
  return value;
}

/** One of a list of words. */
export function requireOneOf<T extends string>(name: string, value: string, allowed: readonly T[]): T {
  if (!(allowed as readonly string[]).includes(value)) refuse(name, value, `one of ${allowed.join(', ')}`);
  return value as T;
}

/** Row-major pixels of an image of `count` pixels. */
export function requirePixels(name: string, pixels: Float64Array, count: number): void {
  if (!(pixels instanceof Float64Array)) throw new TypeError(`${name} must be a Float64Array`);
  if (pixels.length !== count)
    throw new RangeError(`${name} must have width * height = ${count} values, got ${pixels.length}`);
}

/** A number > 0, where Infinity stands for "no limit". */
export function requireLimit(name: string, value: number): number {
  if (typeof value !== 'number' || !(value > 0)) refuse(name, value, 'a number > 0 or Infinity');
  return value;
}

/** true or false, and nothing that merely counts as such. */
export function requireBoolean(name: string, value: boolean): boolean {
  if (typeof value !== 'boolean') refuse(name, value, 'true or false');
  return value;
}

/** A map of usable pixels for an image of this size. */
export function requireValid(valid: Uint8Array, width: number, height: number): Uint8Array {
  if (!(valid instanceof Uint8Array) || valid.length !== width * height)
    throw new TypeError(
      `valid must be a Uint8Array of width * height = ${width * height} values, got ${valid?.length ?? typeof valid}`,
    );
  return valid;
}
