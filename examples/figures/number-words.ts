/** Numbers as they stand in figures and on the page: true minus signs, units that do not break away. */
import type { Estimate, Interval } from '@holdfast/sim';
import { decisionText as plainDecisionText, significant, withError } from '@holdfast/sim/internal';

/** Spaces that keep a number and its unit on one line. */
const tight = (text: string): string =>
  text.replace(/ (?=±|%|µm|px|″|s\b)/g, '\u00a0').replace(/± /g, '±\u00a0');

/** A hyphen before a digit is a minus sign. */
export const shown = (text: string): string => tight(text.replace(/-(?=\d)/g, '−'));

/** `0.212 ± 0.004 px` */
export function estimateText(estimate: Estimate | undefined, unit = ''): string {
  if (estimate === undefined) return 'none';
  return shown(`${withError(estimate)}${unit && ` ${unit}`}`);
}

/** `221 µm (95 % interval 212 to 230 µm)` */
export function intervalText({ value, low, high }: Interval, unit: string, digits = 3): string {
  const text = (number: number) => significant(number, digits);
  return shown(`${text(value)} ${unit} (95 % interval ${text(low)} to ${text(high)} ${unit})`);
}

/** `0.4 % (0.1 to 1.2 %)` */
export function lostText({ value, low, high }: Interval): string {
  const text = (fraction: number) => (100 * fraction).toFixed(fraction < 0.0995 ? 1 : 0);
  return shown(`${text(value)} % (${text(low)} to ${text(high)} %)`);
}

/** `+180 µm`; the sign says on which side of best focus. */
export function shiftText(focusShiftUm: number): string {
  const text = significant(focusShiftUm, Math.abs(focusShiftUm) < 100 ? 2 : 3);
  return shown(`${focusShiftUm > 0 ? '+' : ''}${text} µm`);
}

/** As many digits as the decision needs, against what is accepted. */
export function decisionText(estimate: Estimate | undefined, accepted: number): string {
  return estimate === undefined ? 'none' : shown(plainDecisionText(estimate, accepted));
}
