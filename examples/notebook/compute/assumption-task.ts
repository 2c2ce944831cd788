/** How far each assumption of a rig moves its limit. */
import { type AssumptionEffect, assumptionEffects, type FocusLimit, startRig } from '@holdfast/sim';
import { isGroup, type RigText } from '../rig-form/rig-text.ts';

/** @param text  what is known of the rig, with aperture, focal length and pixel */
export async function assumptionTask(
  text: RigText,
  limit: FocusLimit,
  seed: string,
): Promise<AssumptionEffect[]> {
  // The filters of a rig have set the window of its limit.
  const window = text['filters'] === undefined ? {} : { 'tracking.windowPx': limit.windowPx };
  const known: Record<string, number | string> = { ...window, ...Object.fromEntries(leaves(text)) };
  const number = (field: string) => Number(known[field]);
  const seen = {
    apertureMm: number('telescope.apertureMm'),
    focalLengthMm: number('telescope.focalLengthMm'),
    pixelSizeUm: number('guideCamera.pixelSizeUm'),
    binning: Number(known['guideCamera.binning'] ?? 1),
    known,
  };
  return assumptionEffects(seen, startRig(seen), limit, { seed, trials: 128 });
}

/** Every number and word of a rig by its field; filters have nothing to do with the limit. */
function leaves(text: RigText, path = ''): [string, number | string][] {
  return Object.entries(text).flatMap(([name, value]): [string, number | string][] => {
    if (path === '' && (name === 'name' || name === 'filters' || name === 'referenceFilter')) return [];
    if (isGroup(value)) return leaves(value, `${path}${name}.`);
    return typeof value === 'number' || typeof value === 'string' ? [[`${path}${name}`, value]] : [];
  });
}
