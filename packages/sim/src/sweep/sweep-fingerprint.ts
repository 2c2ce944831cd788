/** A short name for a sweep: two sweeps with the same name are the same. */
import type { Rig } from '../rig/rig-schema.ts';
import type { AnyEstimator } from '../trials/own-estimator.ts';
import { version } from '../version.ts';
import { byName } from './own-by-name.ts';
import type { SweepPlan } from './sweep-plan.ts';

/**
 * Sixteen hexadecimal digits that stand for library version, rig and plan: FNV-1a, 64 bits (Fowler, Noll &
 * Vo; offset and prime as in draft-eastlake-fnv), over the canonical JSON of all three.
 */
export function sweepFingerprint(rig: Rig, plan: SweepPlan<AnyEstimator>): string {
  const text = canonicalJson({ version, rig, plan });
  let hash = 0xcbf29ce484222325n;
  for (const byte of new TextEncoder().encode(text)) {
    hash ^= BigInt(byte);
    hash = (hash * 0x100000001b3n) & 0xffffffffffffffffn;
  }
  return hash.toString(16).padStart(16, '0');
}

/**
 * JSON with the names of every object in order, so that the order in which they were written does not matter.
 */
function canonicalJson(value: unknown): string {
  return JSON.stringify(value, (key, whole: unknown) => {
    const part = byName(key, whole);
    return typeof part === 'object' && part !== null && !Array.isArray(part)
      ? Object.fromEntries(Object.entries(part).sort(([a], [b]) => (a < b ? -1 : 1)))
      : part;
  });
}
