/**
 * Checksums of results with fixed seeds, against a committed table: whoever changes code that is not to
 * change results runs this before and after. A change of results on purpose renews the table.
 *
 * `npm run checksums`                   compare with the table; exit status 1 where a result differs
 * `npm run checksums -- --write`        renew the table
 * `npm run checksums -- --of FOLDER`    compare the built packages of another checkout with the table
 */
import { createHash } from 'node:crypto';
import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { parseArgs } from 'node:util';
import type * as Centroid from '@holdfast/centroid';
import type * as Psf from '@holdfast/psf';
import type { StarShape } from '@holdfast/psf';
import type * as Sim from '@holdfast/sim';

interface Packages {
  readonly psf: typeof Psf;
  readonly centroid: typeof Centroid;
  readonly sim: typeof Sim;
}

const tablePath = fileURLToPath(new URL('checksums.json', import.meta.url));
const rigsFolder = new URL('../../examples/rigs/', import.meta.url);

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

/** Every result by name. Each uses few frames: equal bits need no statistic. */
function results({ psf, centroid, sim }: Packages): Map<string, () => unknown> {
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
    mirrorSymmetryCenter: (image) => centroid.mirrorSymmetryCenter(image, options),
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

  const rigOf = (file: string) => sim.parseRig(readFileSync(new URL(file, rigsFolder), 'utf8'));
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
  for (const file of readdirSync(rigsFolder)
    .filter((name) => name.endsWith('.json'))
    .sort())
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

/** Numbers and flags with their field names, without texts: words may change. */
function checksum(value: unknown): string {
  const text = JSON.stringify(value, (_, part) => {
    if (typeof part === 'string') return undefined;
    return ArrayBuffer.isView(part) ? Array.from(part as Float64Array) : part;
  });
  return createHash('sha256').update(text).digest('hex').slice(0, 16);
}

async function packagesOf(folder: string | undefined): Promise<Packages> {
  const load = (name: string) =>
    import(
      folder === undefined
        ? `@holdfast/${name}`
        : pathToFileURL(resolve(folder, 'packages', name, 'dist/bundle/index.js')).href
    );
  return { psf: await load('psf'), centroid: await load('centroid'), sim: await load('sim') };
}

const { values } = parseArgs({ options: { write: { type: 'boolean' }, of: { type: 'string' } } });
const found: Record<string, string> = {};
for (const [name, result] of results(await packagesOf(values.of))) found[name] = checksum(await result());

if (values.write) {
  writeFileSync(tablePath, `${JSON.stringify(found, undefined, 2)}\n`);
  console.log(`${Object.keys(found).length} checksums written`);
} else {
  const table: Record<string, string> = JSON.parse(readFileSync(tablePath, 'utf8'));
  const names = [...new Set([...Object.keys(table), ...Object.keys(found)])];
  const different = names.filter((name) => table[name] !== found[name]);
  for (const name of different)
    console.log(`differs: ${name}: table ${table[name] ?? 'none'}, now ${found[name] ?? 'none'}`);
  console.log(`${names.length - different.length} results equal, ${different.length} differ`);
  process.exitCode = different.length > 0 ? 1 : 0;
}
