/** What the frame's brightest star would do as a guide star. */
import type { FocusLimit, Rig, StarAdvice } from '@holdfast/sim';
import { significant } from '@holdfast/sim/internal';
import { decisionText, estimateText, intervalText, lostText, shown } from '../../../figures/number-words.ts';
import { invalidation, signalOf } from '../../book.ts';
import type { Cell } from '../../cell.ts';
import { liveSeed } from '../../compute/cell-of.ts';
import type { GivenFile } from '../../compute/measure-file.ts';
import { element, paragraph } from '../../element.ts';

interface Judged {
  readonly advice: StarAdvice;
  /** Simulated after the advice. */
  readonly limit?: FocusLimit;
}

export type Verdict = Judged | { readonly noVerdict: string } | 'waiting' | undefined;

export const frameAdvice: Cell = {
  id: 'advice-on-frame',
  title: 'Verdict on this frame',
  content(book) {
    book.define(
      'judged',
      ['given', 'rig', 'frames', invalidation],
      async function* (
        given: GivenFile,
        rig: Rig,
        frames: string,
        outdated: Promise<unknown>,
      ): AsyncGenerator<Verdict> {
        if (!given?.measured.ok) {
          yield undefined;
          return;
        }
        const { judged, stars, perRigExposure } = given.measured;
        if (!judged.ok) {
          yield { noVerdict: judged.reason };
          return;
        }
        yield 'waiting';
        const signal = signalOf(outdated);
        const { light, ring } = stars[judged.star];
        const fluxE = (light?.fluxE.value ?? 0) * perRigExposure;
        const focusShiftUm = ring.ok ? (ring.absFocusShiftUm?.value ?? 0) : 0;
        const options = { seed: liveSeed, trials: Number(frames) };
        const team = book.team('your-own-frame');
        const advice = await team.run(signal, 'adviseStar', rig, { focusShiftUm, fluxE }, options);
        yield { advice };
        yield { advice, limit: await team.run(signal, 'focusLimit', rig, { fluxE }, options) };
      },
    );
    const answer = element('p', { class: 'answer' });
    const more = paragraph();
    book.show(['judged', 'rig'], (judged: Verdict, rig: Rig) => {
      if (judged === undefined || judged === 'waiting') {
        answer.replaceChildren();
        more.replaceChildren(
          judged === 'waiting'
            ? 'Simulating a guide star like this one …'
            : 'Open a frame above. The verdict on its star then stands here.',
        );
        return;
      }
      if ('noVerdict' in judged) {
        answer.replaceChildren('No verdict.');
        more.replaceChildren(`${capital(judged.noVerdict)}.`);
        return;
      }
      answer.replaceChildren(frameAnswer(judged));
      more.replaceChildren(moreWords(judged, rig));
    });
    return [answer, more];
  },
};

/** The verdict in a sentence. */
export function frameAnswer({ advice: { outcome, trim, focusShiftUm }, limit }: Judged): string {
  const where = `${significant(focusShiftUm, 3)} µm out of focus`;
  const todo = {
    keep: `Keep: at ${where} this star stays usable`,
    trim: `Trim: at ${where} this star stays usable only with a change (${trim?.change})`,
    refocus: `Refocus: at ${where} this star is not usable`,
  }[outcome];
  if (limit === undefined || !(limit.limitUm.value > 0)) return shown(`${todo}.`);
  return shown(`${todo}. The limit of a star of this brightness is ${intervalText(limit.limitUm, 'µm')}.`);
}

function moreWords({ advice: { outcome, assessment, reason } }: Judged, { budget }: Rig): string {
  const { error, growth } = assessment;
  const accepted = budget.fwhmGrowthPercent;
  const grown = growth
    ? `; the stars of the picture grow by ${decisionText(growth.growthPercent, accepted)} % (${accepted} % accepted)`
    : '';
  return shown(
    `${outcome === 'keep' ? '' : `${capital(reason)}. `}In ${error.trials} simulated frames of such a star the ` +
      `noise-equivalent error was ${estimateText(error.noiseEquivalentPx, 'px')}, ${lostText(error.lostFraction)} of them ` +
      `were lost${grown}.`,
  );
}

const capital = (sentence: string): string => sentence.charAt(0).toUpperCase() + sentence.slice(1);
