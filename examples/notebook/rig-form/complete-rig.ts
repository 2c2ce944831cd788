/** A rig from the few numbers that one knows: all others are assumed, and every assumption is listed. */
import { parseRig, type Rig, type RigAssumption, RigError, type RigFault, startRig } from '@holdfast/sim';
import { quantityOf } from '../inputs-of.ts';
import { isGroup, type RigText, valueAt, withValue } from './rig-text.ts';
import { withoutRing } from './seen-ring.ts';

export interface CompleteRig {
  readonly rig: Rig;
  readonly assumptions: readonly RigAssumption[];
  /** No filter was given: the one that is taken stands for the camera as it is now. */
  readonly isOneFilter: boolean;
}

/** Name of the filter that stands for a rig without filters. */
export const cameraAsItIs = 'as it is now';

const windowField = 'tracking.windowPx';

/** What the library assumes of a rig that says nothing. */
export const usualValues: readonly RigAssumption[] = startRig({
  apertureMm: 120,
  focalLengthMm: 840,
  pixelSizeUm: 2.9,
}).assumptions;

/**
 * The same text with everything in it that a rig file must say; numbers that only the user knows stay
 * missing. Filters set the window, as they do in a rig file: only a rig without any has one assumed.
 */
export function completeText(text: RigText): { text: RigText; assumptions: readonly RigAssumption[] } {
  const assumptions = usualValues.filter(
    ({ field }) =>
      valueAt(text, field) === undefined && (field !== windowField || text['filters'] === undefined),
  );
  const filled = assumptions.reduce((rig, { field, value }) => withValue(rig, field, value), text);
  const { apertureMm, focalLengthMm } = isGroup(text['telescope']) ? text['telescope'] : {};
  const ratio = Number(focalLengthMm) / Number(apertureMm);
  const name = Number.isFinite(ratio) ? `${apertureMm} mm f/${Number(ratio.toPrecision(2))}` : 'rig';
  const filters = text['filters'] ?? [{ name: cameraAsItIs, focusShiftUm: 0 }];
  const told = Array.isArray(filters)
    ? filters.map((each: unknown) => (isGroup(each) ? withoutRing(each, text) : each))
    : filters;
  return { text: { name, ...filled, filters: told }, assumptions };
}

type Checked = CompleteRig | { readonly faults: readonly RigFault[] };

/** A text is checked by its form and again by who needs the rig; no text is ever changed. */
const checked = new WeakMap<RigText, Checked>();

export function checkRig(text: RigText): Checked {
  const found = checked.get(text) ?? check(text);
  checked.set(text, found);
  return found;
}

function check(text: RigText): Checked {
  const { text: complete, assumptions } = completeText(text);
  try {
    return { rig: parseRig(complete), assumptions, isOneFilter: text['filters'] === undefined };
  } catch (error) {
    if (error instanceof RigError) return { faults: error.faults };
    throw error;
  }
}

/** @throws RangeError with the first fault of the text, in words */
export function usableRig(text: RigText): CompleteRig {
  const found = checkRig(text);
  if ('rig' in found) return found;
  const [first, ...others] = found.faults;
  const more = others.length > 0 ? `, and ${others.length} more` : '';
  throw new RangeError(`${faultWords(first)}${more}`);
}

/** `focal length must be >= 100, got 50`. */
function faultWords({ field, allowed, got }: RigFault): string {
  const name = field.replace(/^.*\./, '');
  return `${name === '' ? 'the rig' : quantityOf(name).quantity} must be ${allowed}, got ${got}`;
}
