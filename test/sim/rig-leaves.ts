/** The leaves of a rig, or of what a rig file may hold: each by its field, with dots. */

export interface Leaf {
  readonly field: string;
  readonly value: unknown;
}

export function leavesOf(value: unknown, field = ''): Leaf[] {
  if (typeof value !== 'object' || value === null) return [{ field, value }];
  return Object.entries(value).flatMap(([name, part]) =>
    part === undefined ? [] : leavesOf(part, field === '' ? name : `${field}.${name}`),
  );
}
