import { focusLimit } from '@holdfast/sim';
import { firstLimitPx } from '../../examples/notebook/compute/first-answer.ts';
import { randomRigs } from './random-rigs.ts';

const rows: any[] = [];
for (const rig of randomRigs(Number(process.argv[2]))) {
  const t0 = performance.now();
  const first = firstLimitPx(rig);
  const t1 = performance.now();
  const l = await focusLimit(rig, { seed: 'cal', trials: 128 });
  const t2 = performance.now();
  rows.push({
    m: rig.tracking.estimator,
    first: first.value,
    sim: l.ringDiameterPx.value,
    by: l.limitedBy,
    ratio: l.ringDiameterPx.value / first.value,
    tf: t1 - t0,
    ts: t2 - t1,
    mag: rig.guideStar.magnitude,
  });
}
for (const r of rows) console.log(JSON.stringify(r));
