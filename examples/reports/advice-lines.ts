/** The advice for a night as lines: each with its numbers, their uncertainty and the reason. */
import type {
  FilterAdvice,
  FilterChange,
  FocusRunOutcome,
  GuideStarChance,
  ImageGrowth,
  NightAdvice,
  PickoffClearance,
  Rig,
} from '@holdfast/sim';

import {
  decisionText,
  noiseWithinBudgetArcsec,
  percent,
  pictureMoves,
  significant,
  withError,
} from '@holdfast/sim/internal';
import { besideText } from './beside-text.ts';
import { drivenByTemperature, guideFocusLines } from './guide-focus-text.ts';
import { intervalText, listText, percentText, shownUm, signedUm } from './quantity-text.ts';

export interface AdviceSection {
  readonly title: string;
  readonly lines: readonly string[];
}

/** Sections without lines are left out. */
export function adviceSections(rig: Rig, night: NightAdvice): AdviceSection[] {
  const sections = [
    { title: 'What to do', lines: [...guideFocusLines(night.bestGuideFocus), asItStands(rig, night)] },
    { title: 'Filter by filter, where the guide camera is now', lines: filterLines(night) },
    { title: 'When the filter changes', lines: changeLines(rig, night) },
    { title: 'What else would help', lines: remedyLines(rig, night) },
    { title: 'How far it may be out of focus', lines: [limitLine(night)] },
    { title: 'As the night cools', lines: coolingLines(night) },
    { title: 'The pick-off', lines: pickoffLines(night) },
    { title: 'Is there a guide star?', lines: oddsLines(night) },
    { title: 'During a focus run', lines: focusRunLines(rig, night) },
    { title: 'What makes the stars of the picture', lines: pictureLines(rig, night) },
    ...(night.beside ? [{ title: 'Beside the guide star', lines: [besideText(night.beside)] }] : []),
    { title: 'Not in these numbers', lines: night.notModeled },
  ];
  return sections.filter(({ lines }) => lines.length > 0);
}

function asItStands(rig: Rig, { filters }: NightAdvice): string {
  const named = (outcome: FilterAdvice['outcome']) =>
    filters.filter((each) => each.outcome === outcome).map(({ filter }) => filter);
  const parts = [
    ...(named('keep').length > 0 ? [`keep ${listText(named('keep'))}`] : []),
    ...filters.flatMap(({ filter, trim }) => (trim ? [`trim ${filter} (${trim.change})`] : [])),
    ...(named('refocus').length > 0 ? [`refocus for ${listText(named('refocus'))}`] : []),
  ];
  return `Left where it is, at ${signedUm(rig.guideFocusShiftUm)} µm: ${parts.join('; ')}.`;
}

function filterLines({ filters }: NightAdvice): string[] {
  return filters.map(
    ({ filter, focusShiftUm, assessment, outcome, reason }) =>
      `${filter} (${signedUm(focusShiftUm)} µm, ring ${assessment.scene.outerDiameterPx.toFixed(1)} px): ${outcome}; ${reason}.`,
  );
}

/** One line for what stays harmless, one for each filter that does not. */
function changeLines(rig: Rig, { changes, filters }: NightAdvice): string[] {
  const kept = changes.filter((change) => isKept(filters, change.from) && isKept(filters, change.to));
  const widest = kept.reduce<FilterChange | undefined>(
    (a, b) => (a === undefined || Math.abs(b.moveUm) > Math.abs(a.moveUm) ? b : a),
    undefined,
  );
  const start = filters[0].filter;
  const arrivals = changes.filter(
    ({ from, to, outcome }) => outcome !== 'keep' && from === (to === start ? filters[1]?.filter : start),
  );
  return [
    ...(widest
      ? [
          `Between the filters that are kept the star stays within the budget; the widest change, ${widest.from} to ${widest.to}, ` +
            `moves the focuser by ${moveText(widest)} and takes the error from ${errorText(rig, widest.fromNoiseArcsec)} to ${errorText(rig, widest.toNoiseArcsec)} arcsec.`,
        ]
      : []),
    ...arrivals.map((change) => {
      const moves = pictureMoves(change);
      return (
        `${change.from} to ${change.to}: the focuser moves by ${moveText(change)}, ring ${change.fromRingPx.toFixed(1)} to ` +
        `${change.toRingPx.toFixed(1)} px, SNR ${significant(change.fromSnr, 2)} to ${significant(change.toSnr, 2)}, error ` +
        `${errorText(rig, change.fromNoiseArcsec)} to ${errorText(rig, change.toNoiseArcsec)} arcsec${moves.value >= 0.01 ? `, the picture moves by ${withError(moves)} px of the main sensor` : ''}: ` +
        `${change.outcome === 'trim' ? lastPart(change.reason) : moveOrNot(rig, change)}.`
      );
    }),
  ];
}

const isKept = (filters: readonly FilterAdvice[], name: string): boolean =>
  filters.some(({ filter, outcome }) => filter === name && outcome === 'keep');

const lastPart = (reason: string): string => reason.split('; ').slice(-1)[0];

function moveOrNot(rig: Rig, { guideMoveUm, reason, toShiftUm }: FilterChange): string {
  if (guideMoveUm === undefined || guideMoveUm === 0) return lastPart(reason);
  return `${lastPart(reason)}; it is in focus at a setting of ${signedUm(rig.guideFocusShiftUm - toShiftUm)} µm`;
}

function moveText({ moveUm, moveSteps }: FilterChange): string {
  return `${signedUm(moveUm)} µm${moveSteps === undefined ? '' : ` (${Math.round(moveSteps)} steps)`}`;
}

const errorText = (rig: Rig, noise: FilterChange['toNoiseArcsec']): string =>
  noise ? decisionText(noise, noiseWithinBudgetArcsec(rig)) : 'no position';

/** One line a filter, cheapest change first. */
function remedyLines(rig: Rig, { remedies }: NightAdvice): string[] {
  return remedies.map(({ filter, trims }) => {
    if (trims.length === 0)
      return `${filter}: no single change brings it back. An average of 64 stars of this brightness does not either, nor a star 5 mag brighter.`;
    const changes = trims.map(({ change, cost, assessment }) => {
      const growth = assessment.growth
        ? decisionText(assessment.growth.growthPercent, rig.budget.fwhmGrowthPercent)
        : 'none';
      return `${change} (growth ${growth} %; ${cost})`;
    });
    return `${filter}, cheapest first, one at a time: ${changes.join('; ')}.`;
  });
}

function limitLine({ limit, limitFilter }: NightAdvice): string {
  const um = (value: number) => shownUm(value);
  if (limit.limitedBy === 'out-of-budget-in-focus')
    return 'The star exceeds the budget even in focus. Only more light helps: a longer exposure or a brighter star.';
  const sides =
    limit.before === limit.beyond || limit.before.limitUm.value === limit.beyond.limitUm.value
      ? `${intervalText(limit.limitUm, um)} µm either side of focus`
      : `${intervalText(limit.before.limitUm, um)} µm ahead of focus and ${intervalText(limit.beyond.limitUm, um)} µm beyond it`;
  const through = limitFilter === undefined ? '' : `Through ${limitFilter}, which passes the least light: `;
  return (
    `${through}${sides}, a ring of ${intervalText(limit.ringDiameterPx, (value) => significant(value, 3))} px, by simulation; with the least ` +
    `possible error of any method ${significant(limit.leastErrorLimitUm, 3)} µm, by formula.`
  );
}

function coolingLines({ thermal, bestGuideFocus: { driftUm }, filters, limit }: NightAdvice): string[] {
  if (thermal === undefined) return [];
  const drifts = filters.filter(
    ({ outcome, focusShiftUm }) =>
      outcome === 'keep' &&
      (focusShiftUm + driftUm.low < -limit.before.limitUm.value ||
        focusShiftUm + driftUm.high > limit.beyond.limitUm.value),
  );
  const leaving =
    drifts.length === 0
      ? 'No filter with the outcome keep drifts beyond the focus limit.'
      : `${listText(drifts.map(({ filter }) => filter))}: keep in the list above, but the drift passes the focus limit before the next refocus.`;
  return [
    drivenByTemperature(thermal),
    `The drift adds ${signedUm(driftUm.low)} to ${signedUm(driftUm.high)} µm to the shift of each filter at the guide camera. ` +
      `The best setting above includes it, the list of filters does not. ${leaving}`,
  ];
}

function pickoffLines({ pickoff }: NightAdvice): string[] {
  if (pickoff === undefined) return [];
  const { isClear, shadow, allowedLossPercent, deepest, star } = pickoff;
  return [
    `${isClear ? 'Clear' : 'Not clear'}: the worst pixel of the main sensor loses ${percent(shadow.worst.loss)} of its light (allowed ${significant(allowedLossPercent, 3)} %); ` +
      `the mirror may reach to ${deepest.edgeFromAxisMm.toFixed(1)} mm from the axis at this rotation. By geometry.`,
    keptText(star),
    ...(Math.abs(star.walkPerFocus) >= 0.001
      ? [
          `Its beam is clipped unevenly: the star walks by ${significant(100 * star.walkPerFocus, 2)} µm for 100 µm of focus.`,
        ]
      : []),
  ];
}

function keptText({ offAxisMm, keptFraction }: PickoffClearance['star']): string {
  const star = `Its star, ${offAxisMm.toFixed(1)} mm off the axis,`;
  if (keptFraction < 0.001) return `${star} gets no light.`;
  if (keptFraction > 0.995) return `${star} keeps all of its light.`;
  const lostMag = -2.5 * Math.log10(keptFraction);
  return (
    `${star} keeps ${percent(keptFraction)} of its light: the ${lostMag.toFixed(2)} mag that it loses are counted in every ` +
    'number here.'
  );
}

function oddsLines({ guideStarOdds: odds, pickoff }: NightAdvice): string[] {
  if (odds === undefined) return [];
  const { limit, count, chances, fieldMm, fieldArcmin2, positionsFor95 } = odds;
  const [one] = chances;
  const usable = limit.usable;
  if (usable === undefined)
    return [`At ${signedUm(limit.focusShiftUm)} µm no star, however bright, is measured within the budget.`];
  return [
    `With the worst filter (${signedUm(limit.focusShiftUm)} µm) a star of V ${usable.magnitude.toFixed(1)} ± 0.1 or brighter is needed` +
      `${pickoff ? ' (its loss at the pick-off is included)' : ''}. A guide field of ${significant(fieldMm.widthMm, 3)} x ${significant(fieldMm.heightMm, 3)} mm ` +
      `(${significant(fieldArcmin2, 3)} square arcmin) holds ${intervalText(one.expectedStars, (value) => significant(value, 2))} such stars at this latitude: ` +
      `the probability of at least one is ${chanceText(one)} %.`,
    `${positionsFor95 === undefined ? 'Not even 1000 positions give' : positionsFor95 === 1 ? 'One position gives' : `${positionsFor95} positions give`} 95 %. ` +
      `Counts: ${count.note}, known to a factor ${count.uncertaintyFactor}; clusters and dark clouds are not in them.`,
  ];
}

const chanceText = ({ atLeastOne }: GuideStarChance): string => intervalText(atLeastOne, percentText);

function focusRunLines(rig: Rig, { focusRun, pickoff }: NightAdvice): string[] {
  if (focusRun === undefined) return [];
  const { shiftsUm, durationS, runs, pause, carryOn, exposureS } = focusRun;
  const better = carryOn.offsetArcsec.value < pause.offsetArcsec.value ? 'carry on' : 'pause';
  return [
    `${shiftsUm.length} positions from ${signedUm(shiftsUm[0])} to ${signedUm(shiftsUm[shiftsUm.length - 1])} µm, ${durationS.toFixed(0)} s: ${better} guiding through it.`,
    `Carrying on: ${outcomeText(carryOn, exposureS)}`,
    `With a pause: ${outcomeText(pause, exposureS)}`,
    ...walkLine(rig, shiftsUm, pickoff),
    `By ${runs} simulated runs of each, with a usual small mount, light wind and moving air; yours will differ.`,
  ];
}

/** The simulated runs hold the walk of the star that they are for, unless offAxis overrides the pick-off. */
function walkLine(rig: Rig, shiftsUm: readonly number[], pickoff: NightAdvice['pickoff']): string[] {
  const walk = Math.abs(pickoff?.star.walkPerFocus ?? 0);
  if (walk < 0.001 || rig.offAxis === undefined || rig.offAxis.clipDistance < 1) return [];
  const half = (Math.max(...shiftsUm) - Math.min(...shiftsUm)) / 2;
  const arcsec = (half * walk * 206.265) / rig.telescope.focalLengthMm;
  return [
    `Not in these runs: the walk of the clipped star, ${significant(arcsec, 2)} arcsec to either side at the ends; carrying on follows it.`,
  ];
}

function outcomeText(
  { lostFraction, offsetArcsec, recoveryS, addedGrowthPercent }: FocusRunOutcome,
  exposureS: number,
): string {
  const added = addedGrowthPercent
    ? `, and the first exposure of ${exposureS} s after it grows by ${withError(addedGrowthPercent)} % more`
    : '';
  return `${percent(lostFraction.value)} of frames lost, off by ${withError(offsetArcsec)} arcsec rms at its end, back within ${withError(recoveryS)} s${added}.`;
}

/** The terms at the filter that is worst among those that are kept, or the worst of all. */
function pictureLines(rig: Rig, { filters }: NightAdvice): string[] {
  const growthOf = ({ assessment }: FilterAdvice) => assessment.growth?.growthPercent.value ?? Infinity;
  const kept = filters.filter(({ outcome }) => outcome === 'keep');
  const worst = (kept.length > 0 ? kept : filters).reduce((a, b) => (growthOf(b) > growthOf(a) ? b : a));
  const { growth } = worst.assessment;
  if (growth === undefined) return [];
  return [
    `With ${worst.filter}: ${withError(growth.fwhmArcsec)} arcsec FWHM, in quadrature of ${termsText(growth)}. Largest: ${growth.largestTerm}.`,
    ...(growth.axes
      ? [`Its stars are longer than wide by ${elongationText(growth)} from the guide star's error.`]
      : []),
    `Image motion: the loop also follows the motion of air that the stars of the picture do not share (wind ${rig.sky.windMPerS} m/s over the aperture, ` +
      "no outer scale: an upper bound). The motion of the picture's own air is in the seeing.",
  ];
}

function termsText({ terms }: ImageGrowth): string {
  const named = [
    ['seeing', terms.seeingArcsec],
    ['other tracking', terms.otherTrackingArcsec],
    ['image motion', terms.imageMotionArcsec],
    ['pixel', terms.pixelArcsec],
    ['guide star', terms.guideStarArcsec],
  ] as const;
  return listText(named.map(([name, value]) => `${name} ${value.toFixed(2)}`));
}

function elongationText({ axes }: ImageGrowth): string {
  if (axes === undefined) return 'nothing';
  const { value, standardError } = axes.elongation;
  return `${withError({ value: 100 * (value - 1), standardError: 100 * standardError })} %`;
}
