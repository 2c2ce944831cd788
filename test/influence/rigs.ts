/** Rigs that between them use every entry of the rig file, and a changed value for each entry. */
import { readFileSync } from 'node:fs';

export type Json = null | boolean | number | string | Json[] | { [name: string]: Json };
type Section = { [name: string]: Json };

const read = (file: string) => JSON.parse(readFileSync(new URL(`../../${file}`, import.meta.url), 'utf8'));
const example = read('examples/rigs/fast-reflector.json') as Section;

/** Drawn by rays wherever the entry does not ask for waves: many times faster. */
const plain: Section = {
  ...example,
  starModel: 'geometric',
  telescope: {
    ...(example['telescope'] as Section),
    design: {
      kind: 'paraboloid',
      residuals: { atMm: 14, sagittalComaUm: 2.5, astigmatismUm: 6 },
    },
  },
  guideCamera: {
    ...(example['guideCamera'] as Section),
    binning: 1,
    wavelengthNm: 550,
    hotPixelsPerMillion: 50,
  },
  mainCamera: { pixelSizeUm: 3.76, exposureS: 120 },
  sky: { ...(example['sky'] as Section), windMPerS: 10, turbulenceHeightM: 5000 },
  guideStar: { magnitude: 10 },
  guideFocusShiftUm: 30,
  filters: [
    { name: 'Clear', focusShiftUm: 0, minutes: 60 },
    { name: 'Red', focusShiftUm: 60, minutes: 30 },
  ],
  focuser: {
    moves: 'cameras',
    umPerStep: 2.5,
    focusRun: { positions: 5, spacingUm: 40, secondsEach: 6, moveS: 1 },
  },
  temperature: { ...(example['temperature'] as Section), nightHours: 8, guidePathUmPerK: 2 },
  pickoff: {
    ...(example['pickoff'] as Section),
    angleDeg: 80,
    guideAngleDeg: 10,
    allowedLossPercent: 2,
    exitPupilDistanceMm: 900,
  },
  galacticLatitudeDeg: 35,
  galacticLongitudeDeg: 120,
  tracking: {
    otherRmsArcsec: 0.5,
    proportionalGain: 0.6,
    estimator: 'thresholdedCenterOfMass',
    available: ['centerOfMass', 'thresholdedCenterOfMass'],
    windowPx: 21,
    searchPx: 6,
    thresholdSigma: 3,
    templateFrames: 20,
    correctionDelayS: 0.5,
    mount: {
      driftXArcsecPerS: 0.005,
      driftYArcsecPerS: 0.013,
      periodicError: [{ amplitudeArcsec: 4, periodS: 480 }],
    },
  },
  budget: { fwhmGrowthPercent: 5, lostFractionPercent: 2 },
};
const telescope = plain['telescope'] as Section;
const ofDesign = (design: Section): Section => ({ ...plain, telescope: { ...telescope, design } });
const { pickoff: _, ...onAxis } = plain;
const { tubeExpansionPerK: __, mirrorExpansionPerK: ___, ...night } = plain['temperature'] as Section;

/** In the order in which they are tried: an entry is changed in the first rig that has it, or in `rigFor`. */
export const rigs: Readonly<Record<string, Section>> = {
  plain,
  'two mirrors': ofDesign({ kind: 'classical-cassegrain', primaryFNumber: 1.8, backFocusMm: 150 }),
  catadioptric: ofDesign({ kind: 'catadioptric', primaryFNumber: 1.8, backFocusMm: 150, correctorMm: 300 }),
  'edge star': ofDesign({
    kind: 'unknown',
    edgeStar: { atMm: 14, lengthPx: 4.2, widthPx: 4, centerPx: 2.5 },
  }),
  refractor: { ...ofDesign({ kind: 'refractor', secondarySpectrumUm: 120 }), starModel: 'auto' },
  'star by hand': {
    ...onAxis,
    offAxis: {
      ...{ offAxisMm: 8, clipDistance: 0.8, clipAngleDeg: 40 },
      aberrationsNm: { 5: 40, 6: -30, 7: 60, 8: 50, 9: 20, 10: -20, 11: 30 },
    },
  },
  steps: {
    ...plain,
    filters: [
      { name: 'Clear', focuserSteps: 4000 },
      { name: 'Red', focuserSteps: 4020 },
    ],
    referenceFilter: 'Clear',
  },
  'glass by index': {
    ...plain,
    filters: [
      { name: 'Clear', glass: { thicknessMm: 1.8, index: 1.5 } },
      { name: 'Red', glass: { thicknessMm: 2.1, index: 1.5 } },
    ],
  },
  'glass by name': {
    ...plain,
    filters: [
      { name: 'Clear', glass: { thicknessMm: 1.8, material: 'N-BK7' } },
      { name: 'Red', glass: { thicknessMm: 2.1, material: 'N-BK7' } },
    ],
  },
  'filters before the pick-off': {
    ...plain,
    filters: [
      { name: 'Clear', focusShiftUm: 0, band: { wavelengthNm: 550, bandwidthNm: 300 } },
      { name: 'Red', focusShiftUm: 60, band: { wavelengthNm: 640, bandwidthNm: 80 } },
    ],
    filtersStand: 'before-pickoff',
  },
  'temperature by measurement': { ...plain, temperature: { ...night, umPerK: 20 } },
  'temperature by two mirrors': {
    ...plain,
    temperature: {
      ...(plain['temperature'] as Section),
      twoMirrors: { primaryFNumber: 1.8, backFocusMm: 150 },
    },
  },
  'too faint a star': {
    ...plain,
    guideStar: { magnitude: 14.5 },
    filters: [
      { name: 'Clear', focusShiftUm: 0 },
      { name: 'Red', focusShiftUm: 200 },
    ],
    tracking: {
      ...(plain['tracking'] as Section),
      windowPx: 31,
      available: ['centerOfMass', 'thresholdedCenterOfMass'],
    },
    budget: { fwhmGrowthPercent: 0.5 },
  },
  'a template of frames': {
    ...plain,
    guideStar: { magnitude: 11 },
    filters: [{ name: 'Clear', focusShiftUm: 0 }],
    tracking: {
      ...(plain['tracking'] as Section),
      ...{ estimator: 'templateFit', templateFrames: 3, windowPx: 13 },
    },
    budget: { fwhmGrowthPercent: 0.5 },
  },
  'a bright star': {
    ...plain,
    guideStar: { magnitude: 4 },
    guideCamera: { ...(plain['guideCamera'] as Section), bitDepth: 16, fullWellE: 15000 },
  },
  'budget of the error': { ...plain, budget: { ...(plain['budget'] as Section), rmsErrorArcsec: 0.4 } },
  'read by editors': { ...plain, $schema: 'rig.schema.json' },
};

/** Rigs for entries that the first one has, though nothing there follows them. */
const rigFor: Readonly<Record<string, string>> = {
  'guideCamera.fullWellE': 'a bright star',
  'sky.turbulenceHeightM': 'too faint a star',
  'tracking.available.[]': 'too faint a star',
  'tracking.templateFrames': 'a template of frames',
  'tracking.searchPx': 'too faint a star',
};

/** Changed values where a quarter more is no usable change. */
const changed: Readonly<Record<string, Json>> = {
  $schema: 'other.json',
  name: 'Another name',
  starModel: 'diffraction',
  'telescope.design.kind': 'refractor',
  'telescope.throughput': 0.6,
  'guideCamera.quantumEfficiency': 0.5,
  'guideCamera.binning': 2,
  'guideCamera.bitDepth': 10,
  'focuser.moves': 'first-mirror',
  filtersStand: 'behind-pickoff',
  'filters.[].name': 'Ruby',
  'filters.[].focuserSteps': 4060,
  'filters.[].minutes': 0,
  'filters.[].glass.material': 'fused-silica',
  referenceFilter: 'Red',
  'offAxis.clipDistance': 0.6,
  'tracking.estimator': 'centerOfMass',
  'tracking.available.[]': 'templateFit',
  'tracking.searchPx': 1,
};

/**
 * An entry of the rig file, as `filters.[].minutes`, the rig that it is changed in, and that rig as changed.
 */
export interface ChangedEntry {
  readonly entry: string;
  readonly rig: string;
  readonly file: Section;
}

/** One for every entry that the schema knows. Of a list the last member is changed. */
export function changedEntries(): ChangedEntry[] {
  return entriesOf(read('packages/sim/rig.schema.json')).map((path) => {
    const asked = rigFor[path.join('.')];
    for (const [rig, file] of asked ? [[asked, rigs[asked]] as const] : Object.entries(rigs)) {
      const change = changedIn(file, path);
      if (change !== undefined) return { entry: path.join('.'), rig, file: change };
    }
    throw new Error(`no rig of ${import.meta.url} has ${path.join('.')}: add it to one`);
  });
}

interface Schema {
  readonly properties?: Readonly<Record<string, Schema>>;
  readonly items?: Schema;
  readonly anyOf?: readonly Schema[];
  readonly oneOf?: readonly Schema[];
}

/** Paths of all entries that are no section; a `[]` stands for a member of a list. */
function entriesOf(schema: Schema): string[][] {
  const found = new Map<string, string[]>();
  const walk = ({ properties, items, anyOf, oneOf }: Schema, path: string[]): void => {
    const forms = anyOf ?? (properties ? undefined : oneOf);
    if (forms) for (const form of forms) walk(form, path);
    else if (items) walk(items, [...path, '[]']);
    else if (properties) for (const [name, part] of Object.entries(properties)) walk(part, [...path, name]);
    else found.set(path.join('.'), path);
  };
  walk(schema, []);
  return [...found.values()];
}

function changedIn(file: Section, path: readonly string[]): Section | undefined {
  const copy = structuredClone(file);
  let place: Json | undefined = copy;
  for (const [i, part] of path.entries()) {
    if (place === null || typeof place !== 'object') return undefined;
    const name: string = Array.isArray(place) ? `${place.length - 1}` : part;
    const holder = place as Section;
    if (holder[name] === undefined) return undefined;
    if (i === path.length - 1) holder[name] = otherThan(holder[name], path.join('.'));
    place = holder[name];
  }
  return copy;
}

function otherThan(value: Json, entry: string): Json {
  const other = changed[entry];
  if (other !== undefined) return other;
  if (typeof value !== 'number') throw new Error(`${entry}: say in ${import.meta.url} what it changes to`);
  if (value === 0) throw new Error(`${entry}: a quarter more of 0 is no change`);
  return Number.isInteger(value) ? value + Math.ceil(Math.abs(value) / 4) : value * 1.25;
}
