/**
 * How often the 95 % intervals hold what many more trials find: focus limit, best guide focus and its shares,
 * growth of a row and of a trim, both by as many trials as their verdict takes.
 * `npx tsx --conditions=@holdfast/source test/studies/coverage.ts [seeds] [trials] [part]`
 * `part`: `limit`, `row`, `template` (a row measured with a running template) or `trim` alone.
 */
import {
  adviseStar,
  bestGuideFocus,
  buildScene,
  type EstimatorSetting,
  focusLimit,
  imageGrowth,
  measureError,
  parseRig,
} from '@holdfast/sim';
import { guideErrorOf } from '@holdfast/sim/internal';

const rig = parseRig({
  name: 'Study',
  telescope: { apertureMm: 150, focalLengthMm: 750, obstructionRatio: 0.3 },
  guideCamera: {
    pixelSizeUm: 4,
    exposureS: 2,
    readNoiseE: 2,
    gainEPerAdu: 1,
    bitDepth: 16,
    fullWellE: 60000,
  },
  mainCamera: { pixelSizeUm: 3.76 },
  sky: { seeingFwhmArcsec: 2.5 },
  guideStar: { magnitude: 13 },
  tracking: { windowPx: 41 },
  starModel: 'geometric',
  filters: [
    { name: 'Luminance', focusShiftUm: 0, minutes: 100 },
    { name: 'Blue', focusShiftUm: -60, minutes: 100 },
    { name: 'H-alpha', focusShiftUm: 200, minutes: 40 },
  ],
});
const seeds = Number(process.argv[2] ?? 400);
const trials = Number(process.argv[3] ?? 256);
const part = process.argv[4];
const wants = (name: string): boolean => part === undefined || part === name;

/** Beyond the limit, where one trim is the cheapest with any seed. */
const trimmedUm = 480;

interface Found {
  readonly value: number;
  readonly low: number;
  readonly high: number;
}

const normal = ({ value, standardError }: { value: number; standardError: number }): Found => ({
  value,
  low: value - 1.96 * standardError,
  high: value + 1.96 * standardError,
});

function rowAnswers(name: string, estimator: EstimatorSetting, seed: string, count: number) {
  const scene = buildScene(rig, { focusShiftUm: 240 });
  const error = measureError(scene, { estimator, seed, trials: count });
  const guide = guideErrorOf(error, scene.arcsecPerPx);
  const growth = guide && imageGrowth(rig, guide);
  if (growth === undefined || error.noiseEquivalentPx === undefined)
    throw new Error('the star is not followed');
  return {
    [`growth of ${name}, %`]: normal(growth.growthPercent),
    [`noise-equivalent error of ${name}, px`]: normal(error.noiseEquivalentPx),
  };
}

async function answers(seed: string, count: number): Promise<Record<string, Found>> {
  const found: Record<string, Found> = {};
  if (wants('limit')) found['focus limit, um'] = (await focusLimit(rig, { seed, trials: count })).limitUm;
  if (part === undefined) {
    const best = await bestGuideFocus(rig, { seed, trials: count, aim: 'mean' });
    found['best guide focus, um'] = best.settingUm;
    found['share of the worst filter'] = best.worstShare;
  }
  if (wants('row'))
    Object.assign(found, rowAnswers('a row', { estimator: 'thresholdedCenterOfMass' }, seed, count));
  if (wants('template')) {
    const running = { estimator: 'templateFit', templateFrames: 8 } as const;
    Object.assign(found, rowAnswers('a running template', running, seed, count));
  }
  return found;
}

/** They take longer: beside the others one in so many seeds tells of them. */
const trimEvery = part === undefined ? 4 : 1;

async function trimAnswers(seed: string, count: number): Promise<Record<string, Found>> {
  if (!wants('trim')) return {};
  const { assessment, trim } = await adviseStar(rig, { focusShiftUm: trimmedUm }, { seed, trials: count });
  return {
    ...(assessment.growth
      ? { 'growth of a row until its verdict, %': normal(assessment.growth.growthPercent) }
      : {}),
    ...(trim?.assessment.growth
      ? { [`growth with ${trim.change}, %`]: normal(trim.assessment.growth.growthPercent) }
      : {}),
  };
}

const many = 12;
const manyTrials = 4096;
const truths = new Map<string, number[]>();
const found = new Map<string, Found[]>();
for (let i = 0; i < many; i++) {
  const all = {
    ...(await answers(`truth ${i}`, manyTrials)),
    ...(await trimAnswers(`truth ${i}`, manyTrials)),
  };
  for (const [what, { value }] of Object.entries(all)) truths.set(what, [...(truths.get(what) ?? []), value]);
}
console.error('truths known');
for (let i = 0; i < seeds; i++) {
  const trimmed = i % trimEvery === 0 ? await trimAnswers(`seed ${i}`, trials) : {};
  for (const [what, each] of Object.entries({ ...(await answers(`seed ${i}`, trials)), ...trimmed }))
    found.set(what, [...(found.get(what) ?? []), each]);
  if (i % 20 === 19) console.error(`${i + 1} seeds`);
}

const mean = (values: readonly number[]) => values.reduce((a, b) => a + b, 0) / values.length;
const sd = (values: readonly number[]) =>
  Math.sqrt(mean(values.map((value) => (value - mean(values)) ** 2)) * (values.length / (values.length - 1)));
console.log(`${seeds} seeds, ${trials} trials wanted; truth from ${many} runs of ${manyTrials} trials`);
for (const [what, list] of found) {
  const truths_ = truths.get(what);
  if (truths_ === undefined) continue;
  const truth = mean(truths_);
  const holds = list.filter(({ low, high }) => low <= truth && truth <= high).length / list.length;
  const values = list.map(({ value }) => value);
  const widths = list.map(({ low, high }) => (high - low) / 2);
  console.log(
    `${what}: holds ${(100 * holds).toFixed(1)} % +- ${(100 * Math.sqrt((holds * (1 - holds)) / list.length)).toFixed(1)}; truth ${truth.toPrecision(5)} +- ${(sd(truths_) / Math.sqrt(many)).toPrecision(2)}, mean ${mean(values).toPrecision(5)}, sd ${sd(values).toPrecision(3)}, half width ${mean(widths).toPrecision(3)}`,
  );
}
