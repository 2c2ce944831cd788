/** What the assumptions of a rig from four numbers are worth. */
import { assumptionEffects, focusLimit, type SeenRig, startRig } from '@holdfast/sim';
import { expect, test } from 'vitest';

const seen: SeenRig = { apertureMm: 120, focalLengthMm: 840, pixelSizeUm: 2.9, ringDiameterPx: 22 };

test('the first assumptions told are limits of the rig with that value, the widest first', async () => {
  const faint = { ...seen, magnitude: 13, known: { 'tracking.proportionalGain': 0.6 } };
  const started = startRig(faint);
  const options = { seed: 1, trials: 64 };
  const limit = await focusLimit(started.rig, options);
  const effects = await assumptionEffects(faint, started, limit, { ...options, most: 2 });
  expect(effects).toHaveLength(2);
  const widths = effects.map(({ limitsPx: [a, b] }) => Math.abs(a.value - b.value));
  expect(widths[0]).toBeGreaterThan(widths[1]);
  expect(widths[1]).toBeGreaterThan(1);
  const [{ assumption, limitsPx }] = effects;
  const rig = startRig({
    ...faint,
    known: { ...faint.known, [assumption.field]: assumption.others?.[1] ?? '' },
  }).rig;
  expect((await focusLimit(rig, options)).ringDiameterPx).toEqual(limitsPx[1]);
});
