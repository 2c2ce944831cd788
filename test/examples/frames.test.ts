/** Frames simulated as files, then measured as a user would: one of each kind, a folder, a focus run. */
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { frameFacts, writeFits } from '@holdfast/sim';
import { beforeAll, describe, expect, test } from 'vitest';
import { textWidth } from '../../examples/dist/figures/figure.js';
import { figureDocument } from '../../examples/dist/figures/figure-document.js';
import { markedFrameFigure } from '../../examples/dist/figures/marked-frame.js';
import { expectWithin, expectWithinSigmas } from '../expect-within.ts';
import { pngFile } from '../sim/frame/png-bytes.ts';
import { folder, frames, pixelsOf, simulate, small, type TrueFrame, trials } from './frame-runs.ts';
import { refusalHere, runExample } from './run-example.ts';
import { sharedBrowser } from './shared-browser.ts';

interface Estimate {
  readonly value: number;
  readonly standardError: number;
}

describe('simulated frames', () => {
  test('say what is in them; the same seed gives the same file', async () => {
    const [truth] = await simulate('--shift=-150', ...small, '--magnitude', '11', '--out', 'seed.fits');
    const { header, image, bitpix } = pixelsOf('seed.fits');
    expect(bitpix).toBe(16);
    expect(image.shape).toEqual([220, 260]);
    expect(frameFacts(header)).toMatchObject({ exposureS: 2, gainEPerAdu: 1, binning: 1 });
    const history = header.cards.filter(({ keyword }) => keyword === 'HISTORY').map(({ comment }) => comment);
    expect(history.join('\n')).toMatch(/seed 1, frame 0; focus shift -150\.00 um/);
    expect(history.join('\n')).toContain(`FITS pixel ${(truth!.stars[0]!.x + 1).toFixed(3)}`);
    const first = readFileSync(join(folder, 'seed.fits'));
    await simulate('--shift=-150', ...small, '--magnitude', '11', '--out', 'seed.fits');
    expect(readFileSync(join(folder, 'seed.fits'))).toEqual(first);
    await simulate('--shift=-150', ...small, '--magnitude', '11', '--out', 'seed.fits', '--seed', '2');
    expect(readFileSync(join(folder, 'seed.fits'))).not.toEqual(first);
  });

  const verifier = spawnSync('fitsverify', ['-h']).error === undefined;
  test.skipIf(!verifier)(`pass fitsverify${verifier ? '' : ' (skipped: it is not installed)'}`, async () => {
    await simulate('--shift', '100', ...small, '--out', 'verified.fits');
    const { stdout } = spawnSync('fitsverify', [join(folder, 'verified.fits')], { encoding: 'utf8' });
    expect(stdout).toContain('Verification found 0 warning(s) and 0 error(s).');
  });

  test.each([
    [['--size', '40'], '--size must be two whole numbers with an x between, as 640x480, got 40'],
    [['--size', '9x9'], 'size must be at least'],
    [['--frames', '0'], '--frames must be a whole number from 1 to 10000, got 0'],
    [['--shift', 'far'], '--shift must be a number, got far'],
    [['--exposure', '-1'], 'exposureS must be in (0, 3600], got -1'],
    [['--rig', 'none.json'], 'cannot read the rig'],
  ])('%j cannot be used', async (args, message) => {
    expect(await refusalHere('simulate-frame', args)).toContain(message);
  });
});

describe('one frame', () => {
  let truth: TrueFrame;
  let stdout: string;
  // biome-ignore lint/suspicious/noExplicitAny: as above
  let numbers: any;
  beforeAll(async () => {
    [truth] = (await simulate('--shift', '260', ...small, '--magnitude', '11', '--out', 'one.fits')) as [
      TrueFrame,
    ];
    ({ stdout, json: numbers } = await frames('one.fits', ...trials, '--picture', 'one.svg'));
  });

  test('a table, the ring, the advice, where the star stands on the curve, the picture', () => {
    expect(stdout).toMatch(/^one\.fits: FITS, 260 x 220 px, 1 star$/m);
    for (const name of ['center of mass', 'Gaussian fit', 'template fit', 'cross-correlation'])
      expect(stdout).toMatch(new RegExp(`^${name} +\\d+\\.\\d+ ± \\d`, 'm'));
    expect(stdout).toMatch(/^Ring by fit: outer diameter \d+\.\d+ ± /m);
    expect(stdout).toMatch(/^Sagittal coma: .* by the place of the hole; .* by the third moments/m);
    expect(stdout).toMatch(/^Implied focus shift: 2\d\d(\.\d)? ± \d+(\.\d)? µm, either side of focus/m);
    expect(stdout).toMatch(/^This star: (keep|trim|refocus); /m);
    expect(stdout).toMatch(/^ {2}This star stands at \d+(\.\d)? % of that limit: \d+ ± \d+ µm are left\.$/m);
    expect(stdout).toMatch(/^Picture: one\.svg$/m);
  });

  test('as numbers: every estimator finds the star, the ring its size, within their errors', () => {
    const { star, camera, kind, advice, limit } = numbers;
    expect(kind).toBe('fits');
    expect(camera).toMatchObject({ notes: [], exposureS: 2, perRigExposure: 1 });
    const [{ x, y, fluxE }] = truth.stars as [{ x: number; y: number; fluxE: number }];
    const positions = Object.values(star.positions) as {
      ok: true;
      x: number;
      y: number;
      sigmaX: number;
      sigmaY: number;
    }[];
    expect(positions).toHaveLength(7);
    for (const found of positions) {
      expect(found.ok).toBe(true);
      expectWithinSigmas(found.x, x, found.sigmaX, 4);
      expectWithinSigmas(found.y, y, found.sigmaY, 4);
    }
    expectWithinSigmas(star.light.fluxE.value, fluxE, star.light.fluxE.standardError, 4);
    const { outerDiameterPx, absFocusShiftUm } = star.ring as {
      outerDiameterPx: Estimate;
      absFocusShiftUm: Estimate;
    };
    // drawn evenly lit; fitted as the cone of F/4 lights it, 3 % brighter in the middle
    expectWithin(
      outerDiameterPx.value,
      truth.ringDiameterPx,
      4 * outerDiameterPx.standardError + 0.004 * 17,
      'see above',
    );
    expectWithin(absFocusShiftUm.value, 260, 4 * absFocusShiftUm.standardError + 0.004 * 260, 'see above');
    expect(advice.focusShiftUm).toBe(absFocusShiftUm.value);
    expect(limit.limitUm.value).toBeGreaterThan(260);
  });

  // Of its own header a frame also knows the obstruction, which holds the hole of its ring.
  test('the same pixels as PNG and as FITS without a header give the same answer', async () => {
    const { image } = pixelsOf('one.fits');
    writeFileSync(join(folder, 'pixels.fits'), writeFits(image, { bitpix: 16 }));
    const bytes = pngFile({ width: 260, height: 220, depth: 16, colorType: 0 }, (x, y) => image.get(y, x));
    writeFileSync(join(folder, 'one.png'), bytes);
    const png = (await frames('one.png', ...trials)).json;
    expect(png.kind).toBe('png');
    const fits = (await frames('pixels.fits', ...trials)).json;
    expect({ ...png, kind: 'fits', file: 'pixels.fits' }).toEqual(fits);
  });

  test('the picture is well-formed, self-contained, and shows both edges of the ring', async () => {
    const text = readFileSync(join(folder, 'one.svg'), 'utf8');
    expect([...text.matchAll(/href="([^"]{11})/g)].map(([, start]) => start)).toEqual(['data:image/']);
    expect(text).not.toMatch(/url\(|<script|<style|@import|<foreignObject/);
    const browser = await sharedBrowser();
    try {
      const page = await browser.newPage();
      await page.goto(pathToFileURL(join(folder, 'one.svg')).href);
      const seen = await page.evaluate(() => ({
        root: document.documentElement.tagName,
        errors: document.querySelectorAll('parsererror').length,
        rings: [...document.querySelectorAll('image ~ circle')].map((circle) =>
          Number(circle.getAttribute('r')),
        ),
        outside: [...document.querySelectorAll('text')].filter((words) => {
          const box = words.getBoundingClientRect();
          const page = document.documentElement.getBoundingClientRect();
          return box.left < page.left || box.right > page.right;
        }).length,
      }));
      expect(seen).toMatchObject({ root: 'svg', errors: 0, outside: 0 });
      // each edge once in paper, once in ink
      expect(seen.rings).toHaveLength(4);
      expectWithin(seen.rings[2]! / seen.rings[0]!, 0.35, 0.05, 'obstruction ratio');
    } finally {
      await browser.close();
    }
  });

  test('a star in focus: no ring, and how far from focus it may be', async () => {
    await simulate(...small, '--magnitude', '13', '--out', 'focus.fits');
    const { stdout } = await frames('focus.fits', ...trials);
    expect(stdout).toMatch(
      /^No ring was measured \(no-ring\): nothing is known of its focus; if all of its width came from defocus, it would be \d+ µm$/m,
    );
  });
});

describe('a folder of frames', () => {
  let truth: TrueFrame[];
  // biome-ignore lint/suspicious/noExplicitAny: as above
  let night: any;
  beforeAll(async () => {
    truth = await simulate(
      '--shift',
      '200',
      '--frames',
      '10',
      '--stars',
      '3',
      ...small,
      '--magnitude',
      '10.5',
      '--out',
      'night',
    );
    rmSync(join(folder, 'night/frame-0005.fits'));
    writeFileSync(join(folder, 'night/frame-0099.fits'), 'SIMPLE is not a frame');
    writeFileSync(join(folder, 'night/notes.txt'), 'clear, calm');
  });

  test('positions against time, split into motion and noise; the same advice; a picture', async () => {
    const { stdout, json } = await frames('night', ...trials, '--picture', 'night.svg');
    night = json;
    expect(stdout).toMatch(/^night: 9 of 10 frames of 260 x 220 px over 22\.5 s; 1 missing in 1 gaps$/m);
    expect(stdout).toMatch(/^ {2}not used: frame-0099\.fits: /m);
    expect(stdout).toMatch(/^All stars together: noise \d\.\d+ ± 0\.\d+ times as large as stated\.$/m);
    expect(stdout).toMatch(/^Motion that all stars share, rms, noise removed: x 0\.\d+ ± /m);
    expect(stdout).toMatch(/^Distance from focus by 9 rings: \d+/m);
    expect(stdout).toMatch(/^This star: (keep|trim|refocus); /m);
    expect(readFileSync(join(folder, 'night.svg'), 'utf8')).toContain('The way that all stars went');
  });

  test('as numbers: the motion that was put in', () => {
    const { sequence, advised } = night;
    expect(sequence.frames).toHaveLength(9);
    const kept = truth.filter((_, n) => n !== 4).map(({ stars }) => stars[0]!);
    for (const axis of ['x', 'y'] as const) {
      const mean = kept.reduce((sum, star) => sum + star[axis] / 9, 0);
      const rms = Math.sqrt(kept.reduce((sum, star) => sum + (star[axis] - mean) ** 2 / 9, 0));
      const { rmsPx } = sequence.split.templateFit.motion[axis];
      expectWithinSigmas(rmsPx.value, rms, rmsPx.standardError, 4);
    }
    expect(sequence.order).toMatchObject({ timed: true, intervalS: 2.5, gaps: [{ after: 3, missing: 1 }] });
    expect(advised.advice.outcome).toMatch(/keep|trim|refocus/);
    expect(sequence.megabytesPerS).toBeGreaterThan(0);
  });

  test('a focus run calibrates the focuser', async () => {
    await simulate(
      '--shift=-300',
      '--step',
      '100',
      '--frames',
      '7',
      '--stars',
      '2',
      ...small,
      '--magnitude',
      '10.5',
      '--out',
      'run',
    );
    const { calibration, advised } = (await frames('run')).json;
    expect(advised).toBeUndefined();
    // 2.5 um per step, focus at 10000; drawn evenly lit, see above
    const { umPerStep, zeroFocusPosition, obstructionRatio, fNumber } = calibration as Record<
      string,
      Estimate
    >;
    expectWithin(umPerStep!.value, 2.5, 4 * umPerStep!.standardError + 0.004 * 2.5, 'the light of a cone');
    expectWithinSigmas(zeroFocusPosition!.value, 10_000, zeroFocusPosition!.standardError, 4);
    expectWithin(
      obstructionRatio!.value,
      0.35,
      4 * obstructionRatio!.standardError + 0.005,
      'the light of a cone',
    );
    expectWithin(fNumber!.value, 4, 4 * fNumber!.standardError + 0.004 * 4, 'the light of a cone');
  });

  test('positions from the command line, for files that do not know them', async () => {
    const positions = Array.from({ length: 7 }, (_, n) => 100 * n).join(',');
    const { calibration } = (await frames('run', '--positions', positions)).json;
    // -300 um at 0, 100 um a hundred steps: focus at 300
    expectWithinSigmas(
      calibration.zeroFocusPosition.value,
      300,
      calibration.zeroFocusPosition.standardError,
      4,
    );
  });
});

describe('what cannot be used is told, and ends with 2', () => {
  beforeAll(async () => {
    mkdirSync(join(folder, 'empty'), { recursive: true });
    writeFileSync(join(folder, 'bad.png'), 'no picture');
    await simulate(...small, '--magnitude', '20', '--out', 'dark.fits');
  });
  test.each([
    [[], 'name a frame or a folder of frames'],
    [['none.fits'], 'cannot read the frame'],
    [['empty'], 'the folder empty holds no frame: no file that ends in .fits'],
    [['bad.png'], 'bad.png gives no image: neither FITS, PNG, TIFF, PGM, PPM, Y4M nor AVI'],
    [['dark.fits'], 'dark.fits shows no star: nothing stands out of the noise of its 260 x 220 px'],
    [['dark.fits', 'dark.fits'], '2 files: none of 2 files shows a star'],
    [['one.fits', 'night'], 'night is a folder: name one folder, or files only'],
    [['one.fits', '--picture', 'one.png'], '--picture must end in .svg, got one.png'],
    [['one.fits', '--picture', 'no/one.svg'], 'cannot write no/one.svg: there is no folder no'],
    [['one.fits', '--positions', '1,2'], '--positions must be one number per file, got 2 for 1 files'],
    [['one.fits', '--mosaic', 'RGB'], '--mosaic must be one of RGGB, BGGR, GRBG, GBRG, got RGB'],
    [['one.fits', '--color', 'pink'], '--color must be one of sum, red, green, blue, got pink'],
    [['one.fits', '--trials', '1'], '--trials must be a whole number from 64 to 1000000, got 1'],
    [['one.fits', '--stars', '0'], '--stars must be a whole number from 1 to 50, got 0'],
    [['one.fits', '--target'], "Unknown option '--target'"],
  ])('%j', async (args, message) => {
    expect(await refusalHere('frames', args, folder)).toContain(message);
  });
  test('the program says it alone, and ends with 2', () => {
    const run = runExample('frames', ['none.fits'], folder);
    expect(run.stderr).toContain('cannot read the frame');
    expect(run.stdout).toBe('');
    expect(run.status).toBe(2);
  });
  test('nothing is left half written', () => {
    expect(existsSync(join(folder, 'one.png.part'))).toBe(false);
    expect(readdirSync(folder).filter((name) => name.endsWith('.part'))).toEqual([]);
  });
});

test('the words below a narrow frame stay within its figure', () => {
  const suspect = { number: 1, x: 20, y: 20, radiusPx: 6, suspect: 'crowded' };
  const plate = { bin: 1, columns: 40, density: new Float64Array(1600) };
  const figure = markedFrameFigure(
    { title: 'narrow.fits', plate, marks: [suspect], picture: () => 'data:,' },
    { document: figureDocument() },
  );
  const lines = [...figure.querySelectorAll('text[x="0"]')];
  expect(lines.map((line) => line.textContent).join(' ')).toBe(
    'narrow.fits 1 star, numbered by brightness. Dashed: trust it less, for the reason beside it.',
  );
  for (const line of lines) {
    const long = textWidth(line.textContent, Number(line.getAttribute('font-size')));
    expect(long).toBeLessThanOrEqual(Number(figure.getAttribute('width')));
    expect(Number(line.getAttribute('y'))).toBeLessThan(Number(figure.getAttribute('height')));
  }
});
