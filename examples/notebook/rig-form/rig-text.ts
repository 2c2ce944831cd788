/** The rig as its file says it, and what the checks of the library make of it. */
import { parseRig, type Rig, RigError, type RigFault } from '@holdfast/sim';

/** An object read from JSON, with whatever is in it. */
export type RigText = Readonly<Record<string, unknown>>;

export interface RigValue {
  readonly text: RigText;
  /** The last rig that could be used. */
  readonly rig: Rig;
  readonly faults: readonly RigFault[];
}

export function checkRig(text: unknown): { rig: Rig } | { faults: readonly RigFault[] } {
  try {
    return { rig: parseRig(text) };
  } catch (error) {
    if (error instanceof RigError) return { faults: error.faults };
    throw error;
  }
}

const isGroup = (value: unknown): value is Readonly<Record<string, unknown>> =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

/** The value at `part.field` of a rig. */
export function valueAt(text: RigText, path: string): unknown {
  return path.split('.').reduce<unknown>((value, key) => (isGroup(value) ? value[key] : undefined), text);
}

/** The same rig with another value there; `undefined` takes the field out. */
export function withValue(text: RigText, path: string, value: unknown): RigText {
  const [first, ...others] = path.split('.');
  if (others.length === 0) {
    const { [first]: _, ...left } = text;
    return value === undefined ? left : { ...text, [first]: value };
  }
  const group = isGroup(text[first]) ? text[first] : {};
  return { ...text, [first]: withValue(group, others.join('.'), value) };
}

/** A rig with defaults filled in, without what a file need not say. */
export const textOfRig = (rig: Rig): RigText => JSON.parse(JSON.stringify(rig)) as RigText;

export const rigFileText = (text: RigText): string => `${JSON.stringify(text, undefined, 2)}\n`;
