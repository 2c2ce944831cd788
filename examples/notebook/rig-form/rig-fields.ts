/** The fields of the rig form, read from the schema of the rig file: names, units, ranges and defaults stand there alone. */
import { estimatorLabels, rigJsonSchema } from '@holdfast/sim';
import { quantityOf, spaced } from '../inputs-of.ts';

export interface RigField {
  /** As faults name it: `telescope.apertureMm`. */
  readonly path: string;
  readonly label: string;
  readonly unit: string;
  readonly explanation: string;
  readonly kind: 'number' | 'text' | 'choice';
  readonly choices: readonly { readonly value: string; readonly label: string }[];
  /** What is taken when the field is left empty. */
  readonly byDefault: string;
  readonly isRequired: boolean;
}

export interface RigPart {
  readonly title: string;
  readonly explanation: string;
  readonly fields: readonly RigField[];
}

interface Schema {
  readonly type?: string;
  readonly description?: string;
  readonly properties?: Readonly<Record<string, Schema>>;
  readonly required?: readonly string[];
  readonly enum?: readonly string[];
  readonly default?: unknown;
}

/** Parts that a form can show: what is nested more deeply stays as the file says it. */
export function rigParts(): RigPart[] {
  const schema = rigJsonSchema() as Schema;
  const required = schema.required ?? [];
  const entries = Object.entries(schema.properties ?? {}).filter(([name]) => name !== '$schema');
  const loose = entries.flatMap(([name, each]) => fieldOf(name, name, each, required.includes(name)));
  const parts = entries
    .filter(([name, each]) => each.properties !== undefined && (required.includes(name) || 'default' in each))
    .map(([name, each]) => ({
      title: spaced(name),
      explanation: each.description ?? '',
      fields: Object.entries(each.properties ?? {}).flatMap(([key, field]) =>
        fieldOf(`${name}.${key}`, key, field, each.required?.includes(key) ?? false),
      ),
    }));
  return [{ title: 'rig', explanation: 'The rig as a whole.', fields: loose }, ...parts];
}

function fieldOf(path: string, name: string, schema: Schema, isRequired: boolean): RigField[] {
  const kind = schema.enum ? 'choice' : kinds[schema.type ?? ''];
  if (kind === undefined) return [];
  const { quantity, unit } = quantityOf(name);
  const byDefault = schema.default === undefined ? '' : String(schema.default);
  const choices = (schema.enum ?? []).map((value) => ({ value, label: labelOf(value) }));
  return [
    {
      path,
      label: quantity,
      unit,
      explanation: schema.description ?? '',
      kind,
      choices,
      byDefault,
      isRequired,
    },
  ];
}

const kinds: Readonly<Record<string, RigField['kind'] | undefined>> = {
  number: 'number',
  integer: 'number',
  string: 'text',
};

const labelOf = (value: string): string =>
  (estimatorLabels as Readonly<Record<string, string>>)[value] ?? spaced(value);
