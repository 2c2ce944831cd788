/**
 * Random rigs: an example rig some of whose fields were replaced, added or left out, as the schema of the
 * file allows.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { parseRig, type Rig, RigError, rigJsonSchema } from '@holdfast/sim';

interface SchemaNode {
  readonly type?: string;
  readonly const?: unknown;
  readonly enum?: readonly unknown[];
  readonly oneOf?: readonly SchemaNode[];
  readonly properties?: Readonly<Record<string, SchemaNode>>;
  readonly required?: readonly string[];
  readonly items?: SchemaNode;
  readonly minimum?: number;
  readonly exclusiveMinimum?: number;
  readonly maximum?: number;
  readonly exclusiveMaximum?: number;
}

const folder = new URL('../../examples/rigs/', import.meta.url);
const examples = readdirSync(folder).map(
  (name) => JSON.parse(readFileSync(new URL(name, folder), 'utf8')) as unknown,
);
const schema = rigJsonSchema() as SchemaNode;

/** A rig that `parseRig` takes, and how many it refused before. */
export interface RandomRig {
  readonly rig: Rig;
  readonly refused: number;
}

/** @param uniform  random numbers in [0, 1) */
export function randomRig(uniform: () => number): RandomRig {
  for (let refused = 0; ; refused++) {
    const base = examples[Math.floor(uniform() * examples.length)];
    // From a field or two to every fifth.
    const share = 0.02 + 0.18 * uniform() ** 2;
    try {
      return { rig: parseRig(varied(schema, base, share, uniform)), refused };
    } catch (error) {
      if (!(error instanceof RigError)) throw error;
    }
  }
}

function varied(node: SchemaNode, value: unknown, share: number, uniform: () => number): unknown {
  if (node.oneOf !== undefined && node.properties === undefined) {
    const kind = (value as { kind?: unknown } | undefined)?.kind;
    const kinds = node.oneOf;
    const own = kinds.find(({ properties }) => {
      const names = properties?.['kind'];
      return names?.const === kind || names?.enum?.includes(kind);
    });
    if (own !== undefined && uniform() > share) return varied(own, value, share, uniform);
    return varied(kinds[Math.floor(uniform() * kinds.length)], undefined, share, uniform);
  }
  if (node.properties !== undefined) {
    const given = (value ?? {}) as Readonly<Record<string, unknown>>;
    return Object.fromEntries(
      Object.entries(node.properties).flatMap(([name, part]) => {
        const isNeeded = node.required?.includes(name) ?? false;
        const isGiven = given[name] !== undefined;
        if (!isNeeded && isGiven === uniform() < share / 2) return [];
        return [[name, varied(part, given[name], share, uniform)]];
      }),
    );
  }
  if (Array.isArray(value) && node.items !== undefined) {
    const { items } = node;
    return value.map((each) => varied(items, each, share, uniform));
  }
  if (value !== undefined && uniform() > share) return value;
  if (node.const !== undefined) return node.const;
  if (node.enum !== undefined) return node.enum[Math.floor(uniform() * node.enum.length)];
  if (node.type === 'string') return value ?? 'x'.repeat(1 + Math.floor(60 * uniform()));
  if (node.type === 'array') return node.items ? [varied(node.items, undefined, share, uniform)] : [];
  return typeof value === 'number' || node.type === 'number' || node.type === 'integer'
    ? randomNumber(node, value, uniform)
    : value;
}

/** At an end of the range, anywhere in it (by its logarithm, too), or some way from what stood there. */
function randomNumber(node: SchemaNode, value: unknown, uniform: () => number): number {
  const low = node.minimum ?? node.exclusiveMinimum ?? -1e6;
  const high = node.maximum ?? node.exclusiveMaximum ?? 1e6;
  const kind = uniform();
  const within = (number: number): number => {
    const whole = node.type === 'integer' ? Math.round(number) : number;
    return Math.min(high, Math.max(low, whole));
  };
  if (kind < 0.1) return low;
  if (kind < 0.2) return high;
  if (kind < 0.4) return within(low + (high - low) * uniform());
  if (kind < 0.6 && low >= 0) return within(high * 10 ** (-6 * uniform()));
  return within((typeof value === 'number' && value !== 0 ? value : 1) * 10 ** (3 * uniform() - 1.5));
}
