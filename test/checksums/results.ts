/**
 * Results with fixed seeds whose bits must not depend on the engine: stars, frames, positions, errors,
 * limits, advice, a tracking run. Runs in Node and in a page.
 */
import type * as Centroid from '@holdfast/centroid';
import type * as Psf from '@holdfast/psf';
import type { StarShape } from '@holdfast/psf';
import type * as Sim from '@holdfast/sim';

export interface Packages {
  readonly psf: typeof Psf;
  readonly centroid: typeof Centroid;
  readonly sim: typeof Sim;
}

const gaussian: StarShape = { kind: 'gaussian', fwhmPx: 3.1, axisRatio: 0.7, angleDeg: 20 };
const ring: StarShape = { kind: 'annulus', outerDiameterPx: 11, obstructionRatio: 0.35, blurFwhmPx: 2.4 };
const waves = {
  pupil: {
    obstructionRatio: 0.35,
    vanes: { count: 3, widthRatio: 0.03, angleDeg: 12 },
    clip: { distance: 0.8, angleDeg: 40 },
  },
  wavefront: { focusShiftUm: 120 },
  fNumber: 5,
  pixelSizeUm: 3.75,
} as const;
const shapes: readonly StarShape[] = [
  gaussian,
  { kind: 'moffat', fwhmPx: 3.1, beta: 3, axisRatio: 0.8, angleDeg: 70 },
  ring,
  {
    kind: 'coma',
    sagittalComaPx: 2.5,
    angleDeg: 30,
    obstructionRatio: 0.35,
    blurFwhmPx: 2.2,
    defocusDiameterPx: 5,
  },
  { kind: 'diffraction', ...waves, wavelengthNm: 600 },
  { kind: 'rays', ...waves, blurFwhmPx: 2 },
  { kind: 'trailed', shape: ring, motion: { lengthPx: 4, angleDeg: 25 } },
  { kind: 'group', star: gaussian, neighbors: [{ dxPx: 6, dyPx: -4, magnitudeDifference: 1 }] },
];
const stamp = { width: 41, height: 36, x: 20.3, y: 17.8, flux: 8000 };

/** Every result by name. Each uses few frames: equal bits need no statistic. `rigs` are rig files by name. */
function results(
  { psf, centroid, sim }: Packages,
  rigs: Readonly<Record<string, string>>,
): Map<string, () => unknown> {
  const all = new Map<string, () => unknown>();
  const camera = { ...psf.defaultCamera, darkEPerS: 0.5, rowNoiseE: 0.4, prnu: 0.01, dsnuE: 0.5 };
  const noisyFrame = (shape: StarShape, label: number): Psf.Image => {
    const expected = psf.renderStar(shape, stamp);
    for (let k = 0; k < expected.data.length; k++) expected.data[k] += 12;
    return psf.exposeFrame(expected, camera, psf.randomStream('checksums', label));
  };

  for (const shape of shapes) {
    all.set(`star ${shape.kind}`, () => psf.renderStar(shape, stamp).data);
    all.set(`frame of a star ${shape.kind}`, () => noisyFrame(shape, 1).data);
  }
  const options = { noise: { readNoiseE: 1.6 }, background: 12.5, radiusPx: 12, guess: { x: 20, y: 18 } };
  const estimators: Record<string, (image: Psf.Image, shape: StarShape) => unknown> = {
    centerOfMass: (image) => centroid.centerOfMass(image, options),
    thresholdedCenterOfMass: (image) =>
      centroid.thresholdedCenterOfMass(image, { ...options, thresholdSigma: 3 }),
    weightedCenterOfMass: (image) => centroid.weightedCenterOfMass(image, { ...options, weightFwhmPx: 9 }),
    gaussianFit: (image) => centroid.gaussianFit(image, options),
    pointSymmetryCenter: (image) => centroid.pointSymmetryCenter(image, options),
    crossCorrelation: (image, shape) =>
      centroid.crossCorrelation(image, { ...options, template: psf.prepareStar(shape, stamp) }),
    templateFit: (image, shape) =>
      centroid.templateFit(image, { ...options, template: psf.prepareStar(shape, stamp) }),
    quadCell: (image) => centroid.quadCell(image, { ...options, fwhmPx: 8 }),
    estimateBackground: (image) => centroid.estimateBackground(image),
    locateStar: (image) => centroid.locateStar(image),
  };
  for (const [name, measure] of Object.entries(estimators))
    all.set(name, () =>
      [gaussian, ring].map((shape) => [2, 3, 4].map((i) => measure(noisyFrame(shape, i), shape))),
    );
  all.set('positionBound', () =>
    shapes.map((shape) =>
      centroid.positionBound(psf.renderStar(shape, stamp), { ...options.noise, backgroundE: 12 }),
    ),
  );
  all.set('predictError', () =>
    (['centerOfMass', 'gaussianFit'] as const).map((estimator) =>
      centroid.predictError(psf.renderStar(ring, stamp), {
        estimator,
        at: stamp,
        noise: { readNoiseE: 1.6, backgroundE: 12 },
      }),
    ),
  );
  all.set('ring fit', () => sim.fitRing(noisyFrame(ring, 5), { noise: options.noise }));

  const rigOf = (file: string) => sim.parseRig(rigs[file]);
  const first = () => rigOf('fast-reflector.json');
  const few = { seed: 1, trials: 64 };
  all.set('measureError', () =>
    [-150, 0, 200].map((focusShiftUm) =>
      sim.measureError(sim.buildScene(first(), { focusShiftUm }), {
        estimator: 'thresholdedCenterOfMass',
        ...few,
      }),
    ),
  );
  all.set('sweep', async () => {
    const rows = [];
    for await (const row of sim.sweep(first(), { axes: { focusShiftUm: [0, 200], snr: [20] }, ...few }))
      rows.push(row);
    return rows;
  });
  all.set('focus limit', () => sim.focusLimit(first(), few));
  for (const file of Object.keys(rigs).sort())
    all.set(`advice ${file}`, () => sim.adviseRefocus(rigOf(file), few));
  all.set('tracking', () =>
    sim.trackStar(first(), {
      seed: 1,
      durationS: 60,
      settleS: 20,
      runs: 2,
      events: [{ kind: 'focus-run', startS: 20, shiftsUm: [-100, 0, 100], secondsEach: 4, endShiftUm: 20 }],
    }),
  );
  return all;
}

/** Whether a result takes part of a second rather than many. */
export const isQuick = (name: string): boolean => !/^(advice|focus limit|tracking)/.test(name);

/** Checksum of each result whose name passes, one after the other. */
export async function* checksums(
  packages: Packages,
  rigs: Readonly<Record<string, string>>,
  wanted: (name: string) => boolean = () => true,
): AsyncGenerator<[name: string, checksum: string]> {
  for (const [name, result] of results(packages, rigs))
    if (wanted(name)) yield [name, await checksum(await result())];
}

/** Numbers and flags with their field names, without texts: words may change. */
async function checksum(value: unknown): Promise<string> {
  const text = JSON.stringify(value, (_, part) => {
    if (typeof part === 'string') return undefined;
    return ArrayBuffer.isView(part) ? Array.from(part as Float64Array) : part;
  });
  const digest = await crypto.subtle.digest('SHA-256', new TextEncoder().encode(text));
  return Array.from(new Uint8Array(digest, 0, 8), (byte) => byte.toString(16).padStart(2, '0')).join('');
}
