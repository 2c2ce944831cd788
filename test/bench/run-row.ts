/** Runs a row: every side by turns, then whether they did the same work. */
import { type Idleness, idlenessOf } from './calibration.ts';
import { interleave } from './interleave.ts';
import { MissingProgram, type Row, type Side } from './row.ts';
import type { Spread } from './spread.ts';

export interface ReferenceResult {
  readonly label: string;
  readonly goal?: number;
  /** Units a second. */
  readonly speed?: Spread;
  /** Our speed over this one's. */
  readonly ratio?: Spread;
  /** What would have to be installed for it to run. */
  readonly missing?: string;
}

export interface RowResult {
  readonly name: string;
  readonly work: string;
  readonly unit: string;
  readonly repeats: number;
  /** Units a second. */
  readonly speed: Spread;
  readonly references: readonly ReferenceResult[];
  readonly agreement?: string;
  readonly idleness: Idleness;
}

export async function runRow(row: Row): Promise<RowResult> {
  const { ours, references, ...rest } = await row.prepare();
  const sides: Side[] = [ours];
  try {
    const missing: (string | undefined)[] = [];
    for (const reference of references) {
      try {
        sides.push(await reference.start());
        missing.push(undefined);
      } catch (error) {
        if (!(error instanceof MissingProgram)) throw error;
        missing.push(error.message);
      }
    }
    const { speeds, ratios, repeats, calibrations } = await interleave(sides, {
      sliceS: row.sliceS ?? 0.2,
      repeats: row.repeats ?? 11,
    });
    let at = 0;
    const results = references.map(({ label, goal }, i): ReferenceResult => {
      const named = { label, ...(goal === undefined ? {} : { goal }) };
      const absent = missing[i];
      if (absent !== undefined) return { ...named, missing: absent };
      at++;
      return { ...named, speed: speeds[at], ratio: ratios[at] };
    });
    const agreement = rest.agreement?.call(rest);
    return {
      name: row.name,
      work: row.work,
      unit: row.unit,
      repeats,
      speed: speeds[0],
      references: results,
      idleness: idlenessOf(calibrations, ratios),
      ...(agreement === undefined ? {} : { agreement }),
    };
  } finally {
    for (const side of sides) side.close?.();
  }
}
