/** The focus limit of the example rig, known to 3 %, on one core. */
import { readFileSync } from 'node:fs';
import { type FocusLimit, focusLimit, parseRig } from '@holdfast/sim';
import type { Row } from '../row.ts';
import { timeGoal } from '../time-goal.ts';

export const row: Row = {
  name: 'focus-limit',
  work: 'focus limit of the fast reflector, its 95 % interval within 3 % of it on either side, one core',
  unit: 'limit',
  sliceS: 1,
  repeats: 5,
  prepare() {
    const text = JSON.parse(
      readFileSync(new URL('../../../examples/rigs/fast-reflector.json', import.meta.url), 'utf8'),
    );
    delete text.$schema;
    const rig = parseRig(text);
    let seed = 0;
    let widest: FocusLimit | undefined;
    const half = ({ limitUm: { value, low, high } }: FocusLimit) =>
      Math.max(high - value, value - low) / value;
    return {
      ours: {
        async run(count) {
          const begin = performance.now();
          for (let i = 0; i < count; i++) {
            const limit = await focusLimit(rig, { seed: ++seed, trials: 1024 });
            if (widest === undefined || half(limit) > half(widest)) widest = limit;
          }
          return (performance.now() - begin) / 1000;
        },
      },
      references: [timeGoal(1)],
      agreement() {
        if (widest === undefined || half(widest) > 0.03)
          throw new Error(`known to ${widest && half(widest)} only`);
        const { value, low, high } = widest.limitUm;
        return `least sure of ${seed}: ${value.toFixed(0)} [${low.toFixed(0)}, ${high.toFixed(0)}] um`;
      },
    };
  },
};
