/**
 * A good call of each function of the front doors that answers at once: what random calls start from.
 * Functions that take a rig get one from `parseRig`, the door at which rigs are checked; only what is passed
 * beside it is varied.
 */
import * as centroid from '@holdfast/centroid';
import * as psf from '@holdfast/psf';
import * as sim from '@holdfast/sim';
import { smallRig } from '../sim/small-rig.ts';

export interface CallCase {
  readonly name: string;
  /** Arguments of a good call, made anew, so that a call cannot spoil the next one. */
  readonly args: () => unknown[];
  readonly call: (...args: never[]) => unknown;
}

const size = { width: 24, height: 21 };
const gaussian = { kind: 'gaussian', fwhmPx: 3, axisRatio: 0.9, angleDeg: 20 } as const;
const moffat = { kind: 'moffat', fwhmPx: 3, beta: 3 } as const;
const annulus = { kind: 'annulus', outerDiameterPx: 9, obstructionRatio: 0.3, blurFwhmPx: 2.5 } as const;
const coma = {
  kind: 'coma',
  sagittalComaPx: 1.5,
  angleDeg: 30,
  obstructionRatio: 0.3,
  blurFwhmPx: 2.5,
} as const;
const pupil = {
  obstructionRatio: 0.3,
  vanes: { count: 4, widthRatio: 0.01, angleDeg: 10 },
  clip: { distance: 0.7, angleDeg: 40 },
  obstructionCenter: { x: 0.1, y: 0 },
  footprint: { width: 2.2, height: 2, angleDeg: 5 },
  illumination: { gradient: 0.1, angleDeg: 20 },
} as const;
const wavefront = { focusShiftUm: 60, zernikesNm: { 7: 40 }, seidelNm: { coma: 100, angleDeg: 10 } } as const;
const wave = { pupil: { obstructionRatio: 0.3 }, wavefront: { focusShiftUm: 40 }, fNumber: 6 } as const;
const waves = {
  ...{ kind: 'diffraction', ...wave, wavelengthNm: 550, pixelSizeUm: 4 },
  seeing: { fwhmArcsec: 2, apertureMm: 150 },
  accuracy: { minPupilSamples: 64 },
} as const;
const rays = { ...wave, pixelSizeUm: 4, blurFwhmPx: 2 } as const;
const seeing = { fwhmArcsec: 2.5, outerScaleMm: 20_000 } as const;
const camera = { readNoiseE: 2, gainEPerAdu: 1, offsetAdu: 100, bitDepth: 12, fullWellE: 12_000 } as const;
const noise = { readNoiseE: 2, backgroundE: 5 } as const;
const star = (shape: psf.StarShape = gaussian) =>
  psf.renderStar(shape, { ...size, x: 11.3, y: 10.2, flux: 4000 });
const light = {
  apertureMm: 150,
  obstructionRatio: 0.3,
  throughput: 0.8,
  quantumEfficiency: 0.7,
  exposureS: 2,
};
const random = () => psf.randomStream('calls');
const template = () => psf.prepareStar(gaussian, size);

const psfCases: Record<string, [() => unknown[], ((...args: never[]) => unknown)?]> = {
  aduToElectrons: [() => [star(), { ...camera }]],
  airyFwhmUm: [() => [{ fNumber: 6, wavelengthNm: 550 }]],
  binFrame: [() => [psf.createImage(24, 20), 2]],
  colorFocusUm: [() => [600, 200]],
  comaCentroidOffset: [() => [{ sagittalComaPx: 2, angleDeg: 30, obstructionRatio: 0.3 }]],
  createImage: [() => [4, 3, new Float64Array(12)]],
  defocusBlur: [() => [{ focusShiftUm: 100, fNumber: 6, obstructionRatio: 0.3, wavelengthNm: 550 }]],
  depthOfFocusUm: [
    () => [{ criterion: 'quarter-wave', fNumber: 6, wavelengthNm: 550, obstructionRatio: 0.3 }],
  ],
  diffractionSampling: [() => [structuredClone(waves)]],
  exposeFrame: [
    () => [star(), { ...camera }],
    (expected: psf.Image, given: psf.Camera) => psf.exposeFrame(expected, given, random()),
  ],
  fNumber: [() => [{ apertureMm: 150, focalLengthMm: 750 }]],
  focusShiftFromRing: [() => [{ outerDiameterUm: 40, fNumber: 6 }]],
  frameToAdu: [() => [star(), { ...camera }]],
  friedParameterMm: [() => [{ ...seeing }, 550]],
  glassFocusShiftUm: [() => [{ thicknessMm: 3, refractiveIndex: 1.5, fNumber: 6 }]],
  glassIndex: [() => ['N-BK7', 550]],
  glassPlateAberration: [() => [{ thicknessMm: 3, refractiveIndex: 1.5, fNumber: 6 }]],
  imageMotionArcsec: [
    () => [{ seeing: { ...seeing }, apertureMm: 150, wavelengthNm: 550, measure: 'centroid' }],
  ],
  lightCentroid: [() => [structuredClone({ pupil, wavefront, fNumber: 6 })]],
  magnitudeError: [() => [20]],
  moffatAlpha: [() => [{ fwhmPx: 3, beta: 3 }]],
  moffatEncircledEnergy: [() => [{ fwhmPx: 3, beta: 3 }, 4]],
  moffatNoiseEquivalentArea: [() => [{ fwhmPx: 3, beta: 3 }]],
  nollIndex: [() => [{ n: 3, m: 1 }]],
  offAxisAberrations: [
    () => [
      {
        design: 'catadioptric',
        apertureMm: 200,
        focalLengthMm: 2000,
        offAxisMm: 10,
        angleDeg: 5,
        primaryFNumber: 2,
        backFocusMm: 150,
      },
    ],
  ],
  pixelNoiseE: [() => [{ ...camera }]],
  plateScaleArcsecPerPx: [() => [{ pixelSizeUm: 4, focalLengthMm: 800 }]],
  prepareExposure: [
    () => [{ ...camera }, { ...size, originX: 0, originY: 0 }],
    (given: psf.Camera, window: never) => {
      const { width, height } = psf.prepareExposure(given, window);
      return { width, height };
    },
  ],
  prepareShortExposure: [
    () => [
      structuredClone({
        ...size,
        ...wave,
        apertureMm: 100,
        wavelengthNm: 550,
        pixelSizeUm: 4,
        seeing,
        windMPerS: 5,
        exposureS: 0.05,
      }),
    ],
    (options: psf.ShortExposureOptions) => psf.prepareShortExposure(options, random()).steps,
  ],
  prepareStar: [
    () => [{ ...annulus }, { ...size }, 11.2, 10.1, 500],
    (shape: psf.StarShape, of: psf.ImageSize, x: number, y: number, flux: number) => {
      const plan = psf.prepareStar(shape, of);
      const out = new Float64Array(plan.width * plan.height);
      return { held: plan.renderInto(out, x, y, flux), out };
    },
  ],
  pupilMoments: [() => [structuredClone(pupil)]],
  randomStream: [() => ['a', 'b'], (...of: [string, string]) => psf.randomStream(...of).uniform()],
  raySpots: [() => [structuredClone(rays)]],
  renderStar: [() => [{ ...coma }, { ...size, x: 11, y: 10, flux: 900 }]],
  saturationE: [() => [{ ...camera }]],
  seeingFwhmArcsec: [() => [{ ...seeing }, 550]],
  shortExposure: [
    () => [
      structuredClone({
        ...size,
        ...wave,
        apertureMm: 100,
        wavelengthNm: 550,
        pixelSizeUm: 4,
        seeing,
        windMPerS: 5,
        exposureS: 0.02,
      }),
      { x: 11, y: 10, flux: 500 },
    ],
    (options: psf.ShortExposureOptions, at: psf.StarAt) => psf.shortExposure(options, at, random()),
  ],
  skyElectronsPerPx: [() => [{ band: 'V', ...light, skyMagPerArcsec2: 20, pixelScaleArcsec: 1 }]],
  snrOfStar: [
    () => [{ starE: 500, pixels: 30, backgroundPixels: 200, skyEPerPx: 3, darkEPerPx: 1, readNoiseE: 2 }],
  ],
  starElectrons: [() => [{ band: 'V', ...light, magnitude: 11, airmass: 1.2, extinctionMagPerAirmass: 0.2 }]],
  strehlRatio: [() => [structuredClone({ ...wave, wavelengthNm: 550 })]],
  wavefrontRmsNm: [() => [structuredClone(wave)]],
  wavefrontZernikes: [() => [structuredClone(wavefront), 6]],
  zernikeOrder: [() => [8]],
  zernikeValue: [() => [8, 0.3, 0.4]],
};

const at = { x: 11.3, y: 10.2 };
/** A prepared estimator is asked once, so that its own result is looked at. */
const asked =
  (prepare: (of: psf.ImageSize, options: never) => centroid.PreparedEstimator) =>
  (of: psf.ImageSize, options: never) => {
    const prepared = prepare(of, options);
    return of.width === size.width && of.height === size.height ? prepared(star()) : undefined;
  };

const centroidCases: typeof psfCases = {
  backgroundAt: [() => [{ level: 3, slopeX: 0.1, slopeY: 0.2, x0: 1, y0: 2 }, 4, 5]],
  centerOfMass: [() => [star(), { noise: { ...noise } }]],
  chooseEstimator: [() => [{ expected: star(), at: { ...at } }, { ...noise }, {}]],
  crossCorrelation: [() => [star(), { noise: { ...noise }, template: template() }]],
  estimateBackground: [() => [star(), { region: 'border', borderPx: 3, clipSigma: 3, plane: false }]],
  gaussianFit: [() => [star(), { noise: { ...noise }, guess: { ...at }, radiusPx: 8 }]],
  locateStar: [() => [star(), {}]],
  pointSymmetryCenter: [() => [star(), { noise: { ...noise } }]],
  positionBound: [
    () => [star(), { ...noise }, {}],
    (...args: Parameters<typeof centroid.positionBound>) => {
      const bound = centroid.positionBound(...args);
      // As documented, where the image tells nothing of an axis.
      const told = (sigma: number) => (sigma === Infinity ? 'nothing' : sigma);
      return { ...bound, sigmaX: told(bound.sigmaX), sigmaY: told(bound.sigmaY) };
    },
  ],
  predictError: [() => [star(), { estimator: 'gaussianFit', at: { ...at }, noise: { ...noise } }]],
  prepareCenterOfMass: [() => [{ ...size }, { noise: { ...noise } }], asked(centroid.prepareCenterOfMass)],
  prepareCrossCorrelation: [
    () => [{ ...size }, { noise: { ...noise }, template: template() }],
    asked(centroid.prepareCrossCorrelation),
  ],
  prepareGaussianFit: [() => [{ ...size }, { noise: { ...noise } }], asked(centroid.prepareGaussianFit)],
  prepareGuideStar: [
    () => [{ size: { ...size }, windowPx: 11, noise: { ...noise } }, star()],
    (options: centroid.GuideStarOptions, frame: psf.Image) =>
      centroid.prepareGuideStar(options).update(frame),
  ],
  preparePointSymmetryCenter: [
    () => [{ ...size }, { noise: { ...noise } }],
    asked(centroid.preparePointSymmetryCenter),
  ],
  prepareQuadCell: [() => [{ ...size }, { noise: { ...noise }, fwhmPx: 3 }], asked(centroid.prepareQuadCell)],
  prepareRunningTemplate: [
    () => [{ ...size }, { noise: { ...noise }, radiusPx: 8 }],
    (of: psf.ImageSize, options: centroid.RunningTemplateOptions) =>
      centroid.prepareRunningTemplate(of, options).measure(star(), at),
  ],
  prepareTemplateFit: [
    () => [{ ...size }, { noise: { ...noise }, template: template() }],
    asked(centroid.prepareTemplateFit),
  ],
  prepareThresholdedCenterOfMass: [
    () => [{ ...size }, { noise: { ...noise }, threshold: 5 }],
    asked(centroid.prepareThresholdedCenterOfMass),
  ],
  prepareWeightedCenterOfMass: [
    () => [{ ...size }, { noise: { ...noise }, weightFwhmPx: 4 }],
    asked(centroid.prepareWeightedCenterOfMass),
  ],
  quadCell: [() => [star(), { noise: { ...noise }, fwhmPx: 3 }]],
  templateFit: [() => [star(), { noise: { ...noise }, template: template() }]],
  thresholdedCenterOfMass: [() => [star(moffat), { noise: { ...noise }, thresholdSigma: 3 }]],
  weightedCenterOfMass: [() => [star(), { noise: { ...noise }, weightFwhmPx: 4 }]],
};

const rig = smallRig();
const pickoff = {
  apertureMm: 200,
  focalLengthMm: 800,
  obstructionRatio: 0.35,
  flangeDistanceMm: 68,
  openingMm: 46,
  mainSensor: { widthMm: 23.5, heightMm: 15.7 },
  mirror: { widthMm: 10, depthMm: 8, distanceMm: 46 },
  edgeFromAxisMm: 13,
  angleDeg: 90,
  allowedLossPercent: 2,
} as const;
const measure = { gainEPerAdu: 1, readNoiseE: 2, offsetAdu: 0 } as const;
const scene = () => sim.buildScene(rig, { focusShiftUm: 50 });
const error = { noiseArcsec: { value: 0.2, standardError: 0.01 }, response: 1 } as const;
const cells = { axes: { focusShiftUm: [0, 50], snr: [20] }, seed: 1, trials: 64 } as const;

const simCases: typeof psfCases = {
  buildScene: [
    () => [{ focusShiftUm: 50, snr: 20, windowPx: 21, exposureS: 2, binning: 1, seeingFwhmArcsec: 2 }],
    (setting: sim.SceneSetting) => {
      const { setting: _, ...numbers } = sim.buildScene(rig, setting);
      return numbers;
    },
  ],
  calibrateFocuser: [
    () => [
      [-40, -20, 0, 20, 40].map((position) => ({
        position,
        outerDiameterPx: { value: 2 + Math.abs(position) / 2, standardError: 0.1 },
      })),
      { pixelSizeUm: 4, fNumber: 5 },
    ],
  ],
  compareEstimators: [
    () => [{ estimators: ['centerOfMass'], seed: 1, trials: 64, relativePrecision: 0 }],
    (options: Parameters<typeof sim.compareEstimators>[1]) => sim.compareEstimators(scene(), options),
  ],
  measureError: [
    () => [{ estimator: 'thresholdedCenterOfMass', seed: 1, trials: 64 }],
    (options: Parameters<typeof sim.measureError>[1]) => sim.measureError(scene(), options),
  ],
  edgeStar: [
    () => [{ obstructionRatio: 0.3, clipDistance: 0.8 }],
    (setting: never) => sim.edgeStar(rig, setting),
  ],
  fitRing: [() => [star(annulus), { noise: { ...noise }, guess: { ...at }, radiusPx: 8 }]],
  fitWavefront: [
    () => [star(annulus), { noise: { ...noise }, guess: { ...at }, radiusPx: 8, fNumber: 5, pixelSizeUm: 4 }],
  ],
  frameToFits: [
    () => [star(), { ...camera }, { startMs: 1e12, binning: 1, pixelSizeUm: 4, object: 'A star' }],
  ],
  imageGrowth: [
    () => [structuredClone({ x: error, y: error }), { exposureS: 2, proportionalGain: 0.5 }],
    (guide: sim.GuideError, loop: never) => sim.imageGrowth(rig, guide, loop),
  ],
  loopNoiseFactor: [() => [0.6]],
  measureFrame: [() => [star(annulus), { ...measure }]],
  surveyFrame: [() => [star(annulus), { ...measure }]],
  noiseWithinBudgetArcsec: [
    () => [{ exposureS: 2, proportionalGain: 0.5, seeingFwhmArcsec: 2 }],
    (loop: never) => sim.noiseWithinBudgetArcsec(rig, loop),
  ],
  parseRig: [() => [structuredClone(rig)]],
  rigNotices: [() => [structuredClone(rig)]],
  pickoffClearance: [() => [structuredClone(pickoff)]],
  pickoffShadow: [
    () => [structuredClone(pickoff), 5, 6],
    (options: sim.PickoffOptions, x: number, y: number) => sim.pickoffShadow(options)(x, y),
  ],
  readFits: [() => [sim.writeFits(star()), { hdu: 0, plane: 0 }]],
  readStarList: [() => ['ra,dec,mag\n10,20,9\n11,20,10\n']],
  readSweepRecord: [() => ['', { plan: 'a', cells: 2, rowsPerCell: 1 }]],
  simulateFrames: [
    () => [1, 3],
    (seed: number, trial: number) => sim.simulateFrames(scene(), seed).frame(trial),
  ],
  startRig: [() => [{ apertureMm: 120, focalLengthMm: 840, pixelSizeUm: 2.9, ringDiameterPx: 12, snr: 40 }]],
  starsInField: [
    () => [
      [{ raDeg: 10, decDeg: 20, magnitude: 9 }],
      {
        raDeg: 10,
        decDeg: 20,
        offAxisDeg: 0.5,
        positionAngleDeg: 30,
        radialDeg: 0.2,
        acrossDeg: 0.3,
        faintestMagnitude: 12,
      },
    ],
  ],
  sweepCells: [() => [structuredClone(cells)], (plan: sim.SweepPlan) => sim.sweepCells(rig, plan).length],
  sweepFromCsv: [() => ['cell,focusShiftUm\n0,5\n']],
  thermalFocusUmPerK: [
    () => [
      {
        focalLengthMm: 1000,
        tubeExpansionPerK: 23.6e-6,
        mirrorExpansionPerK: 3e-6,
        secondary: { magnification: 4, separationMm: 300, backFocusMm: 150 },
      },
    ],
  ],
  writeFits: [() => [star(), { bitpix: -32 }]],
};

/**
 * Functions without random calls here, and why: long work of seconds per call, whose options are checked by
 * the functions above; functions of a rig, a scene or of another function's result alone; readers of files,
 * which `npm run soak -- files` tries.
 */
export const notCalled: Readonly<Record<string, string>> = {
  ...Object.fromEntries(
    ['adviseNight', 'adviseRefocus', 'adviseStar', 'assumptionEffects', 'bestGuideFocus', 'focusLimit']
      .concat('guideStarLimit', 'guideStarOdds', 'measureSequence', 'pickoffTradeOff', 'sweep', 'trackStar')
      .map((name) => [name, 'long work']),
  ),
  ...Object.fromEntries(
    ['RigError', 'designOf', 'fitsValue', 'focuserPoints', 'frameFacts', 'inCellOrder', 'prepareScene']
      .concat('rigCamera', 'rigJsonSchema', 'rigOfFrame', 'starWords', 'sweepLines')
      .concat('sweepToCsv', 'thermalDrift')
      .map((name) => [name, 'of a result']),
  ),
  readFitsFile: 'files',
  readFrameFile: 'files',
};

const casesOf = (module: object, own: typeof psfCases): CallCase[] =>
  Object.entries(own).map(([name, [args, call]]) => ({
    name,
    args,
    call: call ?? ((module as Record<string, unknown>)[name] as CallCase['call']),
  }));

/** They take from some ms to a second per call. */
export const slowCalls: readonly string[] = [
  'buildScene',
  'chooseEstimator',
  'compareEstimators',
  'crossCorrelation',
  'fitRing',
  'fitWavefront',
  'lightCentroid',
  'measureError',
  'measureFrame',
  'surveyFrame',
  'pickoffClearance',
  'prepareCrossCorrelation',
  'prepareShortExposure',
  'prepareTemplateFit',
  'raySpots',
  'shortExposure',
  'startRig',
  'templateFit',
];

export const callCases: readonly CallCase[] = [
  ...casesOf(psf, psfCases),
  ...casesOf(centroid, centroidCases),
  ...casesOf(sim, simCases),
];

/** Exported functions that have no case and no reason for having none. */
export function forgottenFunctions(): string[] {
  const known = new Set([...callCases.map(({ name }) => name), ...Object.keys(notCalled)]);
  return [psf, centroid, sim].flatMap((module) =>
    Object.entries(module)
      .filter(([name, value]) => typeof value === 'function' && !known.has(name))
      .map(([name]) => name),
  );
}
