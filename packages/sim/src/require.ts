/** Checks of arguments: a bad call throws at once, and its message says what was wrong, the value got and what is allowed. */

function refuse(name: string, value: unknown, allowed: string): never {
  throw typeof value === 'number'
    ? new RangeError(`${name} must be ${allowed}, got ${value}`)
    : new TypeError(`${name} must be ${allowed}, got ${JSON.stringify(value) ?? String(value)}`);
}

/** A finite number > 0. */
export function requirePositive(name: string, value: number): number {
  if (typeof value !== 'number' || !(value > 0 && value < Infinity))
    refuse(name, value, 'a finite number > 0');
  return value;
}

/** A finite number >= 0. */
export function requireNonNegative(name: string, value: number): number {
  if (typeof value !== 'number' || !(value >= 0 && value < Infinity))
    refuse(name, value, 'a finite number >= 0');
  return value;
}

/** A finite number. */
export function requireFinite(name: string, value: number): number {
  if (typeof value !== 'number' || !Number.isFinite(value)) refuse(name, value, 'a finite number');
  return value;
}

/** A number with low <= value < high. */
export function requireBelow(name: string, value: number, low: number, high: number): number {
  if (typeof value !== 'number' || !(value >= low && value < high))
    refuse(name, value, `in [${low}, ${high})`);
  return value;
}

/** A map of usable pixels for an image of this size. */
export function requireValid(valid: Uint8Array, width: number, height: number): Uint8Array {
  if (!(valid instanceof Uint8Array) || valid.length !== width * height)
    throw new TypeError(
      `valid must be a Uint8Array of width * height = ${width * height} values, got ${valid instanceof Uint8Array ? valid.length : typeof valid}`,
    );
  return valid;
}
