/**
 * A good call, spoilt in one or two places: it must answer with finite numbers, or refuse in words of its
 * own.
 */
import type { CallCase } from './call-cases.ts';
import { firstNonFinite } from './run-rig.ts';

/** What may stand where something else is expected. */
const strange: readonly unknown[] = [
  undefined,
  null,
  Number.NaN,
  Number.POSITIVE_INFINITY,
  Number.NEGATIVE_INFINITY,
  0,
  -0,
  -1,
  1,
  0.5,
  3,
  1e9,
  -1e9,
  1e308,
  5e-324,
  2 ** 31,
  '',
  'x',
  '5',
  true,
  [],
  {},
  5n,
  Symbol('s'),
  () => 1,
  new Float64Array(0),
  new Date(0),
];

/** Places in the arguments: every field, at any depth; of an array of numbers, a few. */
function placesOf(value: unknown, path: readonly string[] = []): string[][] {
  if (typeof value !== 'object' || value === null || path.length > 4) return [];
  const names = ArrayBuffer.isView(value) ? ['0', '200'] : Object.keys(value);
  return names.flatMap((name) => {
    const place = [...path, name];
    return [place, ...placesOf((value as Record<string, unknown>)[name], place)];
  });
}

function spoil(args: unknown[], uniform: () => number): void {
  const pick = <T>(list: readonly T[]): T => list[Math.floor(uniform() * list.length)];
  const places = placesOf(args);
  const place = pick(places);
  const last = place[place.length - 1];
  let parent = args as unknown as Record<string, unknown>;
  for (const name of place.slice(0, -1)) parent = parent[name] as Record<string, unknown>;
  const old = parent[last];
  // Half of the numbers stay numbers: what is allowed is looked for, too.
  const value =
    typeof old === 'number' && uniform() < 0.5
      ? old * 10 ** (8 * uniform() - 4) * pick([1, 1, -1])
      : pick(strange);
  try {
    parent[last] = value;
  } catch {
    // An array of numbers takes no other values.
  }
}

/** Messages of the engine: the call went on with what it should have refused. */
const engineWords =
  /is not a function|is not iterable|is not defined|Cannot (read|destructure|set|convert|mix|access|create)|Invalid (typed )?array length|Invalid (time|count|string)|serialize|undefined \(|reading '|Maximum call stack|offset is out of bounds|allocation failed|not an object|could not be cloned|null or undefined|Array buffer/i;

export interface CallFault {
  readonly call: string;
  readonly what: string;
}

const shown = (args: unknown): string =>
  JSON.stringify(args, (_, value: unknown) => {
    if (ArrayBuffer.isView(value)) return '...';
    return typeof value === 'number' && Number.isFinite(value)
      ? value
      : typeof value === 'object'
        ? value
        : String(value);
  });

/** Arguments as text, to the last bit, so that a change of them shows. */
const text = (args: unknown): string =>
  JSON.stringify(args, (_, value: unknown) =>
    ArrayBuffer.isView(value)
      ? Array.from(value as Float64Array, String).join()
      : typeof value === 'object' || typeof value === 'string'
        ? value
        : String(value),
  );

/** @returns what is wrong with one random call, if anything */
export function randomCall({ name, args, call }: CallCase, uniform: () => number): CallFault | undefined {
  const given = args();
  spoil(given, uniform);
  if (uniform() < 0.3) spoil(given, uniform);
  const before = text(given);
  const fault = (what: string): CallFault => ({ call: `${name}(${shown(given)})`, what: `${name}: ${what}` });
  const started = performance.now();
  try {
    const result = call(...(given as never[]));
    const isFailure = (result as { ok?: unknown } | undefined)?.ok === false;
    // Pixels go through as they are: what is no number stays none.
    const bad = isFailure ? undefined : firstNonFinite(result);
    if (bad !== undefined && /data\.\d+ = /.test(bad) && /NaN|Infinity/.test(before)) return undefined;
    if (bad !== undefined) return fault(`gives ${bad}`);
  } catch (thrown) {
    const isOurs =
      thrown instanceof RangeError || thrown instanceof TypeError || (thrown as Error).name === 'RigError';
    if (!isOurs || engineWords.test((thrown as Error).message)) return fault(`throws ${String(thrown)}`);
  }
  if (text(given) !== before) return fault('changes its arguments');
  const tookMs = performance.now() - started;
  return tookMs > 60_000 ? fault(`takes ${Math.round(tookMs / 1000)} s`) : undefined;
}
