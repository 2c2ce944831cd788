/**
 * The whole advice for an example rig: its full star against the plain ring of a star on the axis, by rays.
 */
import { execFileSync } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { adviseRefocus, type Outcome, parseRig, type Rig } from '@holdfast/sim';
import type { Row, Side } from '../row.ts';

const rigs = new URL('../../../examples/rigs/', import.meta.url);
const memoryGoalMB = 300;

/** Advises on the rig of a file, and says the peak of its memory, kB. */
const adviseAlone = `
  import { readFileSync } from 'node:fs';
  import { adviseRefocus, parseRig } from '@holdfast/sim';
  await adviseRefocus(parseRig(JSON.parse(readFileSync(process.argv[1], 'utf8'))), { seed: 1, trials: 1024 });
  console.log(process.resourceUsage().maxRSS);`;

/** The peak of memory of each example rig's advice, in a process of its own. */
function memoryText(): string {
  const peaks = readdirSync(rigs).map((file) => {
    const rig = fileURLToPath(new URL(file, rigs));
    const cwd = fileURLToPath(new URL('../..', import.meta.url));
    const args = ['--input-type=module', '--eval', adviseAlone, rig];
    return Math.round(Number(execFileSync(process.execPath, args, { cwd, encoding: 'utf8' })) / 1024);
  });
  const isMet = Math.max(...peaks) <= memoryGoalMB;
  return `peaks of memory of all example rigs ${peaks.join(', ')} MB; goal ${memoryGoalMB} MB ${isMet ? 'met' : 'missed'}`;
}

export const row: Row = {
  name: 'advice',
  work: 'advice for the fast reflector, 1024 frames per row, one core: its full star against the plain ring in the same window',
  unit: 'advice',
  sliceS: 1,
  repeats: 3,
  prepare() {
    const text = JSON.parse(readFileSync(new URL('fast-reflector.json', rigs), 'utf8'));
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
        [full, ring]
          .map((rig) => `${rig.starModel}: ${(outcomes.get(rig) ?? []).join(', ')}`)
          .concat(memoryText())
          .join('; '),
    };
  },
};
