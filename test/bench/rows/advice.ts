/**
 * The whole advice for an example rig: its full star against the plain ring of a star on the axis, by rays.
 */
import { readFileSync } from 'node:fs';
import { adviseRefocus, type Outcome, parseRig, type Rig } from '@holdfast/sim';
import type { Row, Side } from '../row.ts';

export const row: Row = {
  name: 'advice',
  work: 'advice for the fast reflector, 1024 frames per row, one core: its full star against the plain ring in the same window',
  unit: 'advice',
  sliceS: 1,
  repeats: 3,
  prepare() {
    const text = JSON.parse(
      readFileSync(new URL('../../../examples/rigs/fast-reflector.json', import.meta.url), 'utf8'),
    );
    const full = parseRig(text);
    const { design: _, ...telescope } = text.telescope;
    const { pickoff: __, ...plain } = text;
    const ring = parseRig({ ...plain, telescope, starModel: 'geometric' });
    const outcomes = new Map<Rig, readonly Outcome[]>();
    const side = (rig: Rig): Side => ({
      async run(count) {
        const begin = performance.now();
        for (let i = 0; i < count; i++) {
          const { filters } = await adviseRefocus(rig, { seed: 1, trials: 1024 });
          outcomes.set(
            rig,
            filters.map(({ outcome }) => outcome),
          );
        }
        return (performance.now() - begin) / 1000;
      },
    });
    return {
      ours: side(full),
      // 1.5 times the time of the ring at most.
      references: [{ label: 'the same, plain ring', goal: 1 / 1.5, start: () => side(ring) }],
      agreement: () =>
        [full, ring].map((rig) => `${rig.starModel}: ${(outcomes.get(rig) ?? []).join(', ')}`).join('; '),
    };
  },
};
