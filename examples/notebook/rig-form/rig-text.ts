/** The rig as its file says it, and what the checks of the library make of it. */
import { parseRig, type Rig, RigError, type RigFault } from '@holdfast/sim';
import { quantityOf } from '../inputs-of.ts';

/** An object read from JSON, with whatever is in it. */
export type RigText = Readonly<Record<string, unknown>>;

export function checkRig(text: unknown): { rig: Rig } | { faults: readonly RigFault[] } {
  try {
    return { rig: parseRig(text) };
  } catch (error) {
    if (error instanceof RigError) return { faults: error.faults };
    throw error;
  }
}

/** The rig of a text. @throws RangeError with its first fault, in words */
export function usableRig(text: RigText): Rig {
  const checked = checkRig(text);
  if ('rig' in checked) return checked.rig;
  const [first, ...others] = checked.faults;
  const more = others.length > 0 ? `, and ${others.length} more` : '';
  throw new RangeError(`${faultWords(first)}${more}. The numbers below are of an earlier rig.`);
}

/** `focal length must be >= 100, got 50`. */
export function faultWords({ field, allowed, got }: RigFault): string {
  const name = field.replace(/^.*\./, '');
  return `${name === '' ? 'the rig' : quantityOf(name).quantity} must be ${allowed}, got ${got}`;
}

export const isGroup = (value: unknown): value is Readonly<Record<string, unknown>> =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

/** The value at `part.field` of a rig. */
export function valueAt(text: RigText, path: string): unknown {
  return path.split('.').reduce<unknown>((value, key) => (isGroup(value) ? value[key] : undefined), text);
}

/** The same rig with another value there; `undefined` takes the field out, and a part of which nothing is left. */
export function withValue(text: RigText, path: string, value: unknown): RigText {
  const [first, ...others] = path.split('.');
  const inner = isGroup(text[first]) ? text[first] : {};
  const next = others.length === 0 ? value : withValue(inner, others.join('.'), value);
  if (next !== undefined && !(others.length > 0 && isGroup(next) && Object.keys(next).length === 0))
    return { ...text, [first]: next };
  const { [first]: _, ...left } = text;
  return left;
}

/** A rig with defaults filled in, without what a file need not say. */
export const textOfRig = (rig: Rig): RigText => JSON.parse(JSON.stringify(rig)) as RigText;

export const rigFileText = (text: RigText): string => `${JSON.stringify(text, undefined, 2)}\n`;
