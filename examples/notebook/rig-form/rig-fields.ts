/**
 * The fields of the rig form, read from the schema of the rig file: names, units, ranges and defaults stand
 * there alone.
 */
import { rigJsonSchema } from '@holdfast/sim';
import { estimatorLabels } from '@holdfast/sim/internal';
import { quantityOf, spaced } from '../inputs-of.ts';
import { usualValues } from './complete-rig.ts';

export interface RigField {
  /** As faults name it: `telescope.apertureMm`. */
  readonly path: string;
  readonly label: string;
  readonly unit: string;
  readonly explanation: string;
  /** A list is written with commas. */
  readonly kind: 'number' | 'text' | 'choice' | 'list';
  readonly choices: readonly { readonly value: string; readonly label: string }[];
  /** What is taken when the field is left empty, or assumed. */
  readonly byDefault: string;
  readonly isRequired: boolean;
  /** The field exists for these values of another field alone. */
  readonly when?: { readonly path: string; readonly values: readonly string[] };
}

export interface RigPart {
  readonly title: string;
  readonly explanation: string;
  /** Whether a rig is complete without it. */
  readonly isOptional: boolean;
  readonly fields: readonly RigField[];
}

interface Schema {
  readonly type?: string;
  readonly description?: string;
  readonly properties?: Readonly<Record<string, Schema>>;
  readonly required?: readonly string[];
  readonly enum?: readonly string[];
  readonly const?: string;
  readonly oneOf?: readonly Schema[];
  readonly default?: unknown;
}

/** Every part of a rig but its filters. */
export function rigParts(): RigPart[] {
  const { properties = {}, required = [] } = rigJsonSchema() as Schema;
  const entries = Object.entries(properties).filter(([name]) => name !== '$schema' && name !== 'filters');
  const isGroup = ({ properties, oneOf }: Schema) => properties !== undefined || oneOf !== undefined;
  const whole: RigPart = {
    title: 'rig',
    explanation: 'The rig as a whole.',
    isOptional: false,
    fields: entries.flatMap(([name, each]) =>
      isGroup(each) ? [] : fieldsOf(name, name, each, required.includes(name), ''),
    ),
  };
  const parts = entries.flatMap(([name, each]): RigPart[] => {
    if (!isGroup(each)) return [];
    const isNeeded = required.includes(name);
    return [
      {
        title: spaced(name),
        explanation: each.description ?? '',
        isOptional: !isNeeded && each.default === undefined,
        fields: fieldsOfGroup(name, each, isNeeded, ''),
      },
    ];
  });
  return [whole, ...parts];
}

/** A group within a group lends its name to the labels of its fields. */
function fieldsOfGroup(path: string, schema: Schema, isRequired: boolean, within: string): RigField[] {
  const { properties = {}, required = [], oneOf } = schema;
  if (oneOf !== undefined) return fieldsOfChoice(path, oneOf, isRequired, within);
  return Object.entries(properties).flatMap(([key, each]) =>
    fieldsOf(`${path}.${key}`, key, each, isRequired && required.includes(key), within),
  );
}

function fieldsOf(
  path: string,
  name: string,
  schema: Schema,
  isRequired: boolean,
  within: string,
): RigField[] {
  if (schema.properties !== undefined || schema.oneOf !== undefined)
    return fieldsOfGroup(path, schema, isRequired, `${within}${spaced(name)}: `);
  const kind = schema.enum ? 'choice' : kinds[schema.type ?? ''];
  if (kind === undefined) throw new Error(`the form has no field for ${path}`);
  const { quantity, unit } = quantityOf(name);
  const usual = usualValues.find(({ field }) => field === path)?.value ?? schema.default ?? '';
  return [
    {
      path,
      label: `${within}${quantity}`,
      unit,
      explanation: schema.description ?? '',
      kind,
      choices: (schema.enum ?? []).map((value) => ({ value, label: labelOf(value) })),
      byDefault: String(usual),
      isRequired: isRequired && usual === '',
    },
  ];
}

/** One of several shapes, discriminated by the field that has a fixed value in each. */
function fieldsOfChoice(
  path: string,
  shapes: readonly Schema[],
  isRequired: boolean,
  within: string,
): RigField[] {
  const fixed = ({ const: only, enum: several }: Schema = {}): readonly string[] =>
    only === undefined ? (several ?? []) : [only];
  const [key = ''] = Object.entries(shapes[0].properties ?? {}).flatMap(([name, each]) =>
    fixed(each).length > 0 ? name : [],
  );
  const valuesOf = ({ properties }: Schema) => fixed(properties?.[key]);
  const choice: RigField = {
    path: `${path}.${key}`,
    label: `${within}${quantityOf(key).quantity}`,
    unit: '',
    explanation: '',
    kind: 'choice',
    choices: shapes.flatMap(valuesOf).map((value) => ({ value, label: labelOf(value) })),
    byDefault: '',
    isRequired,
  };
  const others = shapes.flatMap((shape) =>
    Object.entries(shape.properties ?? {})
      .filter(([name]) => name !== key)
      .flatMap(([name, each]) =>
        fieldsOf(`${path}.${name}`, name, each, false, within).map((field) => ({
          ...field,
          when: { path: choice.path, values: valuesOf(shape) },
        })),
      ),
  );
  // A field of several shapes is one field.
  const merged = new Map<string, RigField>();
  for (const field of others) {
    const same = merged.get(field.path);
    const values = [...(same?.when?.values ?? []), ...field.when.values];
    merged.set(field.path, { ...field, when: { path: choice.path, values } });
  }
  return [choice, ...merged.values()];
}

const kinds: Readonly<Record<string, RigField['kind'] | undefined>> = {
  number: 'number',
  integer: 'number',
  string: 'text',
  array: 'list',
};

const labelOf = (value: string): string =>
  (estimatorLabels as Readonly<Record<string, string>>)[value] ?? spaced(value).replaceAll('-', ' ');
