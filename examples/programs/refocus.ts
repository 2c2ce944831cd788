/**
 * The main job: must the guide camera be refocused? For one ring, for a frame, or filter by filter, with the
 * page.
 */
import { readFileSync } from 'node:fs';
import {
  adviseRefocus,
  type CompleteAdvice,
  type PositionError,
  type Rig,
  type SeenRig,
  startRig,
} from '@holdfast/sim';
import { sweepWorkers } from '@holdfast/sim/workers';
import { fillPage } from '../build/notebook-page.ts';
import { frameLines, frameReport, frameSource } from '../reports/frame-report.ts';
import { makeReport } from '../reports/make-report.ts';
import {
  answerForRig,
  answerFromSight,
  assumptionList,
  effectSentence,
  limitSentence,
  type RingAnswer,
  ringSentence,
  verdictWords,
} from '../reports/ring-answer.ts';
import { headLines, terminalReport } from '../reports/terminal-report.ts';
import { UnusableInput } from '../reports/unusable-input.ts';
import { wrapped } from '../reports/wrapped-text.ts';
import { type Answer, command, type Surroundings } from './command-line/command.ts';
import { flag, number, outFile, text, type Values } from './command-line/option.ts';
import { exampleRig, readRig, root, usableRig } from './command-line/read-rig.ts';
import { aperture, focalLength, givenRig, pixel, seed, set, trials } from './command-line/shared-options.ts';
import { writeSafely } from './command-line/write-safely.ts';

const options = {
  ring: number(
    'PX',
    'outer diameter of the ring that your guide star shows now, px. The answer is for this ring',
  ),
  aperture: { ...aperture, help: `${aperture.help}; with --focal-length and --pixel no rig file is needed` },
  focalLength,
  pixel,
  binning: number('N', 'pixels per side that are summed', { otherwise: '1' }),
  obstruction: number('RATIO', 'central obstruction over aperture, 0 for a refractor', { otherwise: '0' }),
  magnitude: number('V', 'magnitude of the guide star', { otherwise: "the rig's, else 11" }),
  snr: number('N', 'SNR of the ring, instead of the magnitude'),
  set,
  saveRig: outFile('FILE', 'write the rig that was made from these numbers'),
  rig: { ...givenRig, otherwiseText: exampleRig },
  frame: text(
    'FILE',
    'measure the brightest star of a frame (FITS, PNG, TIFF, PGM, the first of a film), and advise on it; without --rig its header and the numbers above describe the telescope',
  ),
  page: outFile('FILE', 'where to write the page with the figures', {
    otherwise: 'holdfast.html; none with --ring or --frame',
  }),
  noPage: flag('write no page'),
  trials,
  seed,
};
type Asked = Values<typeof options>;

export const refocus = command({
  name: 'refocus',
  question: 'How far out of focus can a guide star go, and still guide?',
  about: [
    'As a ring: npx holdfast --ring 22 --aperture 120 --focal-length 840 --pixel 2.9. For a rig file, filter by filter: ' +
      'npx holdfast --rig my-rig.json. The name refocus may be left out.',
  ],
  options,
  async run(asked, surroundings) {
    const { ring, saveRig, frame } = asked;
    if (frame !== undefined) {
      if (ring !== undefined || saveRig !== undefined)
        throw new UnusableInput('--ring and --save-rig must be left out, since --frame shows the star');
      const report = await frameReport(frameSource(asked), frame, { ...asked, ...surroundings });
      return { data: report, text: () => frameLines(report) };
    }
    const seen = seenOf(asked);
    if (seen === undefined && saveRig !== undefined)
      throw new UnusableInput(
        '--save-rig needs --aperture, --focal-length and --pixel: a rig file is saved already',
      );
    if (seen !== undefined || ring !== undefined) return aboutRing(asked, seen, surroundings);
    return byFilter(asked.rig ?? readRig(undefined), asked, surroundings);
  },
});

/** Filter by filter: the advice as soon as it is there, then the page. */
async function byFilter(rig: Rig, asked: Asked, { onProgress, say, isJson }: Surroundings): Promise<Answer> {
  const { seed, trials, noPage, page = 'holdfast.html' } = asked;
  const long = { seed, trials, ...(onProgress ? { onProgress } : {}) };
  say(headLines(rig));
  if (noPage && !isJson) {
    const advice = await adviseRefocus(rig, long);
    return { data: advice, text: () => terminalReport(rig, advice) };
  }
  const runner = sweepWorkers();
  const onAdvice = (advice: CompleteAdvice) => say(terminalReport(rig, advice));
  const report = await makeReport(rig, { ...long, runner, onAdvice }).finally(() => runner.close());
  if (noPage) return { data: report, text: () => [] };
  const template = readFileSync(new URL('examples/dist/notebook/index.html', root), 'utf8');
  writeSafely(page, fillPage(template, report));
  return { data: report, text: () => ['', `Page with figures: ${page}`] };
}

async function aboutRing(
  asked: Asked,
  seen: SeenRig | undefined,
  { onProgress, say }: Surroundings,
): Promise<Answer> {
  const { seed, trials, saveRig, ring = 0, magnitude, snr } = asked;
  const long = { seed, trials, ...(onProgress ? { onProgress } : {}) };
  if (seen === undefined) {
    const rig = asked.rig ?? readRig(undefined);
    const answer = await inOptionNames(() =>
      answerForRig(rig, { ringDiameterPx: ring, magnitude, snr }, long),
    );
    return { data: answer, text: () => verdictLines(answer) };
  }
  const started = await inOptionNames(async () => usableRig('from these numbers', () => startRig(seen)));
  if (saveRig !== undefined) writeSafely(saveRig, `${JSON.stringify(started.rig, undefined, 2)}\n`);
  const onAnswer = (answer: RingAnswer) => say(verdictLines(answer));
  const answer = await answerFromSight(seen, started, { ...long, onAnswer });
  const saved = saveRig === undefined ? [] : ['', `Rig: ${saveRig}`];
  return { data: answer, text: () => ['', ...assumptionLines(answer), ...saved] };
}

/** The numbers from which a rig is started; undefined where there is none, as with a rig file. */
function seenOf(asked: Asked): SeenRig | undefined {
  const { aperture, focalLength, pixel, binning, obstruction, set, ring, magnitude, snr, rig } = asked;
  const numbers = { aperture, 'focal-length': focalLength, pixel, binning, obstruction };
  const named = Object.entries(numbers).flatMap(([name, value]) =>
    value === undefined ? [] : [`--${name}`],
  );
  if (Object.keys(set).length > 0) named.push('--set');
  if (rig !== undefined && named.length > 0)
    throw new UnusableInput(`${named.join(', ')} must be left out, since --rig gives the rig`);
  if (rig !== undefined || (named.length === 0 && ring === undefined)) return undefined;
  const missing = ['aperture', 'focal-length', 'pixel'].filter((name) => !named.includes(`--${name}`));
  if (aperture === undefined || focalLength === undefined || pixel === undefined)
    throw new UnusableInput(
      `${missing.map((name) => `--${name}`).join(', ')} must be given, too (or a rig file with --rig, as ${exampleRig})`,
    );
  return {
    apertureMm: aperture,
    focalLengthMm: focalLength,
    pixelSizeUm: pixel,
    ...(binning === undefined ? {} : { binning }),
    ...(ring === undefined ? {} : { ringDiameterPx: ring }),
    ...(magnitude === undefined ? {} : { magnitude }),
    ...(snr === undefined ? {} : { snr }),
    known: { ...set, ...(obstruction === undefined ? {} : { 'telescope.obstructionRatio': obstruction }) },
  };
}

/** The library's names as the user knows them. */
const optionNames: Readonly<Record<string, string>> = {
  apertureMm: '--aperture',
  focalLengthMm: '--focal-length',
  pixelSizeUm: '--pixel',
  ringDiameterPx: '--ring',
  binning: '--binning',
  magnitude: '--magnitude',
  snr: '--snr',
};

async function inOptionNames<T>(call: () => Promise<T>): Promise<T> {
  try {
    return await call();
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    throw new UnusableInput(error.message.replace(/\w+/g, (name) => optionNames[name] ?? name));
  }
}

function verdictLines(answer: RingAnswer): string[] {
  return [
    `${verdictWords(answer.advice)}.`,
    ...[limitSentence(answer.limit), ringSentence(answer)].flatMap((line) => wrapped(line)),
  ];
}

function assumptionLines({ rig, assumptions, effects, limit, advice }: RingAnswer): string[] {
  const told = new Set(effects.map(({ assumption }) => assumption));
  const others = assumptions.filter((assumption) => !told.has(assumption));
  const { magnitude } = rig.guideStar;
  return [
    ...(effects.length === 0
      ? []
      : [
          'The assumptions that matter most:',
          ...effects.flatMap((effect) =>
            wrapped(`${effectSentence(effect)}.`, { first: '  ', rest: '    ' }),
          ),
        ]),
    ...(others.length === 0 ? [] : wrapped(`Also assumed: ${assumptionList(others)}. Set any with --set.`)),
    ...wrapped(
      `Simulated with a star of magnitude ${magnitude}: ${framesText(advice.assessment.error)}, and up to ${limit.trialsPerShift} per focus shift for the limit.`,
    ),
  ];
}

/** How many frames, and how many they are worth. */
function framesText({ trials, plainTrials = 0 }: PositionError): string {
  return plainTrials > 1.5 * trials
    ? `${trials} frames, as precise as ${Number(plainTrials.toPrecision(2)).toLocaleString('en')} plain ones, because the noise of each is known`
    : `${trials} frames`;
}
