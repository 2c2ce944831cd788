/** What is wrong with a rig file, in words: the field, the value found, what is allowed. */

/** One thing that is wrong with a rig file. */
export interface RigFault {
  /** Where, as in `filters[2].focusShiftUm`; empty for the file as a whole. */
  readonly field: string;
  /** The value found there, as JSON; `nothing` when the field is missing. */
  readonly got: string;
  /** What is allowed. */
  readonly allowed: string;
}

/** Thrown by `parseRig`; holds all faults of the file at once. */
export class RigError extends Error {
  /** Name of the class. */
  override readonly name = 'RigError';
  /** All that is wrong, one by one. */
  readonly faults: readonly RigFault[];

  constructor(faults: readonly RigFault[]) {
    super(
      faults.map(({ field, got, allowed }) => `${field || 'rig'}: must be ${allowed}, got ${got}`).join('\n'),
    );
    this.faults = faults;
  }
}

/** A value as a fault shows it. */
export function shown(value: unknown): string {
  if (value === undefined) return 'nothing';
  const text =
    typeof value === 'number'
      ? String(value)
      : typeof value === 'bigint'
        ? `${value}n`
        : (JSON.stringify(value) ?? String(value));
  return escaped(text.length > 60 ? `${text.slice(0, 57)}...` : text);
}

/**
 * A text from a stranger, control characters as escapes, so that it cannot steer the terminal that shows it.
 */
export function escaped(text: string): string {
  return text.replace(/\p{Cc}/gu, (char) => `\\u${char.charCodeAt(0).toString(16).padStart(4, '0')}`);
}
