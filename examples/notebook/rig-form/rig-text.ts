/** The rig as its file says it. */
import type { Rig } from '@holdfast/sim';

/** An object read from JSON, with whatever is in it. */
export type RigText = Readonly<Record<string, unknown>>;

export const isGroup = (value: unknown): value is Readonly<Record<string, unknown>> =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

/** The value at `part.field` of a rig. */
export function valueAt(text: RigText, path: string): unknown {
  return path.split('.').reduce<unknown>((value, key) => (isGroup(value) ? value[key] : undefined), text);
}

/**
 * The same rig with another value there; `undefined` takes the field out, and a part of which nothing is
 * left.
 */
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
