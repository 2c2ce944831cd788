/** Reading a rig file: all its faults at once, each with the field, the value found and what is allowed. */
import { nearestName } from '@holdfast/psf/numerics';
import type { z } from 'zod';
import { filterFaults, resolveFilters } from './filters.ts';
import { pickoffSchema } from './pickoff-schema.ts';
import { type CurrentKeys, withCurrentKeys } from './renamed-keys.ts';
import { escaped, RigError, type RigFault, shown } from './rig-fault.ts';
import { pickoffFaults } from './rig-pickoff.ts';
import { mainCameraSchema, type Rig, rigJsonSchema, rigSchema, telescopeSchema } from './rig-schema.ts';
import { isTooDeep, parseRigText, tooDeep } from './rig-text.ts';
import { stampFaults } from './stamp-limit.ts';
import { designFaults, designOf } from './telescope-design.ts';
import { telescopeFaults } from './telescope-faults.ts';
import { temperatureFaults } from './temperature.ts';

/**
 * Check a rig, fill in its defaults, and bring the focus shift of every filter to um.
 *
 * ```ts
 * const rig = parseRig(readFileSync('rig.json', 'utf8'))
 * ```
 * @param json  text of a rig file, or the object read from it
 * @throws RigError with every missing, misspelt or impossible field at once: name, value got, what is allowed
 */
export function parseRig(json: unknown): Rig {
  const { input } = currentKeysOf(json);
  const result = rigSchema().safeParse(input);
  const faults = [
    ...(result.error?.issues.flatMap((issue) => faultsOf(issue, input)) ?? []),
    ...telescopeFaults(input),
    ...filterFaults(input),
    ...designFaults(input),
    ...temperatureFaults(input),
    ...impossiblePickoff(input),
  ];
  if (faults.length > 0 || !result.success) throw new RigError(faults);
  const rig = { ...result.data, filters: resolveFilters(result.data) };
  const tooWide = stampFaults(rig);
  if (tooWide.length > 0) throw new RigError(tooWide);
  return rig;
}

/**
 * One line per key of an older rig file that has another place now; such a file loads all the same.
 *
 * @throws RigError as `parseRig`
 */
export function rigNotices(json: unknown): readonly string[] {
  parseRig(json);
  return currentKeysOf(json).notices;
}

function currentKeysOf(json: unknown): CurrentKeys {
  const input = typeof json === 'string' ? parseRigText(json) : json;
  if (isTooDeep(input)) throw new RigError([tooDeep]);
  return withCurrentKeys(input);
}

/** A pick-off is checked as soon as it and its telescope can be read, whatever else is wrong with the rig. */
function impossiblePickoff(input: unknown): RigFault[] {
  const parts = (input ?? {}) as Record<string, unknown>;
  const pickoff = pickoffSchema().safeParse(parts['pickoff']).data;
  const telescope = telescopeSchema().safeParse(parts['telescope']).data;
  if (pickoff === undefined || telescope === undefined) return [];
  const mainCamera = mainCameraSchema().safeParse(parts['mainCamera']).data ?? { pixelSizeUm: 1 };
  return pickoffFaults(pickoff, telescope, designOf({ telescope, mainCamera }));
}

function faultsOf(issue: z.core.$ZodIssue, input: unknown): RigFault[] {
  const field = fieldName(issue.path);
  const value = valueAt(input, issue.path);
  if (issue.code === 'unrecognized_keys')
    return issue.keys.map((key) => ({
      field: field ? `${field}.${escaped(key)}` : escaped(key),
      got: shown(valueAt(input, [...issue.path, key])),
      allowed: `a field that is known here${suggestion(key, issue.path)}`,
    }));
  return [{ field, got: shown(value), allowed: allowedBy(issue, value) }];
}

function allowedBy(issue: z.core.$ZodIssue, value: unknown): string {
  switch (issue.code) {
    case 'invalid_type':
      return value === undefined ? `given (${typeName(issue.expected)})` : typeName(issue.expected);
    case 'too_small':
      return issue.origin === 'number' || issue.origin === 'int'
        ? `${issue.inclusive ? '>=' : '>'} ${issue.minimum}`
        : `of length >= ${issue.minimum}`;
    case 'too_big':
      return issue.origin === 'number' || issue.origin === 'int'
        ? `${issue.inclusive ? '<=' : '<'} ${issue.maximum}`
        : `of length <= ${issue.maximum}`;
    case 'invalid_value':
      return `one of ${issue.values.map(String).join(', ')}`;
    default:
      return issue.message;
  }
}

const typeNames: Record<string, string> = {
  int: 'a whole number',
  number: 'a number',
  string: 'a text',
  object: 'an object',
  array: 'a list',
};
const typeName = (expected: string): string => typeNames[expected] ?? expected;

function fieldName(path: readonly PropertyKey[]): string {
  return path.reduce<string>(
    (name, part) =>
      typeof part === 'number' ? `${name}[${part}]` : name ? `${name}.${String(part)}` : String(part),
    '',
  );
}

function valueAt(input: unknown, path: readonly PropertyKey[]): unknown {
  return path.reduce<unknown>(
    (value, part) => (value as Record<PropertyKey, unknown> | undefined)?.[part],
    input,
  );
}

/** The known name nearest to a misspelt one. */
function suggestion(key: string, path: readonly PropertyKey[]): string {
  let schema: unknown = rigJsonSchema();
  for (const part of path) {
    const node = schema as { properties?: Record<string, unknown>; items?: unknown };
    schema = typeof part === 'number' ? node.items : node.properties?.[String(part)];
  }
  const known = Object.keys((schema as { properties?: object } | undefined)?.properties ?? {});
  const near = nearestName(key, known);
  return near === undefined ? '' : ` (did you mean ${near}?)`;
}
