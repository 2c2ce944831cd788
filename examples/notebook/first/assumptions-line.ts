/**
 * What was assumed, and how far each assumption moves the limit: the three that matter most, then all of
 * them.
 */
import type { AssumptionEffect, FocusLimit, RigAssumption } from '@holdfast/sim';
import { estimatorLabels, significant } from '@holdfast/sim/internal';
import { type Book, invalidation, signalOf } from '../book.ts';
import { liveSeed } from '../compute/cell-of.ts';
import type { LimitNow } from '../compute/ring-now.ts';
import { element } from '../element.ts';
import type { CompleteRig } from '../rig-form/complete-rig.ts';
import type { RigText } from '../rig-form/rig-text.ts';

export function assumptionsLine(book: Book): HTMLElement {
  book.define(
    'assumptionEffects',
    ['rigText', 'completeRig', 'limitNow', invalidation],
    async function* (
      text: RigText,
      { assumptions }: CompleteRig,
      { found, isDone }: LimitNow,
      outdated: Promise<unknown>,
    ): AsyncGenerator<readonly AssumptionEffect[]> {
      yield [];
      if (isDone && found !== undefined && assumptions.length > 0)
        yield await book.team('first').run(signalOf(outdated), 'assumptionEffects', text, found, liveSeed);
    },
  );
  const summary = element('summary', {}, 'Assumptions');
  const list = element('ul');
  const box = element('details', { class: 'assumptions' }, summary, list);
  book.show(
    ['completeRig', 'assumptionEffects', 'limitNow'],
    ({ assumptions }: CompleteRig, effects: readonly AssumptionEffect[], { found }: LimitNow) => {
      box.hidden = assumptions.length === 0;
      summary.textContent = summaryWords(assumptions, effects, found);
      list.replaceChildren(
        ...assumptions.map((each) => {
          const effect = effects.find(({ assumption }) => assumption.field === each.field);
          return element(
            'li',
            {},
            assumptionWords(each),
            effect === undefined ? '' : `: ${effectWords(effect)}`,
          );
        }),
      );
    },
  );
  return box;
}

function summaryWords(
  assumptions: readonly RigAssumption[],
  effects: readonly AssumptionEffect[],
  found: FocusLimit | undefined,
): string {
  const count = `${assumptions.length} assumptions`;
  if (effects.length === 0) return found === undefined ? count : `${count}; their effects are being computed`;
  const told = effects.filter(moves).map((effect) => `${effect.assumption.label} (${effectWords(effect)})`);
  return told.length === 0
    ? `${count}; none moves the limit`
    : `${count}. These matter most: ${told.join('; ')}`;
}

function assumptionWords({ label, value, unit }: RigAssumption): string {
  return `${label} ${valueWords(value)}${unit && ` ${unit}`}`;
}

/** `1 to 5 e⁻ moves the limit from 26 to 22 px`. */
function effectWords(effect: AssumptionEffect): string {
  const { others, unit } = effect.assumption;
  if (others === undefined) return '';
  const [a, b] = limitWords(effect);
  const range = `${others.map(valueWords).join(' to ')}${unit && ` ${unit}`}`;
  return moves(effect)
    ? `${range} moves the limit from ${a} to ${b} px`
    : `${range} leaves the limit at ${a} px`;
}

const limitWords = ({ limitsPx }: AssumptionEffect): string[] =>
  limitsPx.map(({ value }) => significant(value, 2));

/** Whether the limits differ in the digits that are shown. */
function moves(effect: AssumptionEffect): boolean {
  const [a, b] = limitWords(effect);
  return a !== b;
}

const valueWords = (value: number | string): string =>
  (estimatorLabels as Readonly<Record<string, string>>)[value] ?? String(value);
