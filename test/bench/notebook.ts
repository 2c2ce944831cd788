/**
 * How long the notebook takes from a control's change to the figure that shows it.
 *
 *   npm run build && npx tsx test/bench/notebook.ts [--repeats 3]
 *
 * In Chromium, each control takes new values one after the other, once its chapter is in view. Two times are
 * taken within the page, at the frame after the figure was drawn: until it shows the answer to the new
 * value, and until it shows the first simulated frames of it. Opening the page is timed until its first
 * verdict, with the longest task before it; and so is an imager who opens it, types four numbers and a ring
 * at five keys per second, and reads the verdict on them. Of each change, the least of all repeats counts:
 * what else the machine does only adds. Prints a table, and writes the times to
 * test/bench/results/notebook.json.
 */
import { mkdirSync, writeFileSync } from 'node:fs';
import { cpus } from 'node:os';
import { type Browser, chromium } from 'playwright-core';
import { browserOptions } from '../examples/browser.ts';

interface Case {
  readonly chapter: string;
  /** CSS selector of the control's own input. */
  readonly input: string;
  readonly values: readonly number[];
  readonly figure: string;
  /** Words that stand there once simulated frames are in it; `{value}` is the new value. */
  readonly simulated?: { readonly selector: string; readonly words: string };
}

const control = (name: string): string => `[data-control="${name}"] input.number`;
const field = (name: string): string => `[data-field="${name}"]`;
const answerState = { selector: 'section[aria-labelledby=answer] .state', words: 'Simulated' };
const caption = (figure: string) => ({ selector: `#${figure} .words`, words: 'simulated frames' });

const cases: readonly Case[] = [
  {
    chapter: 'First screen',
    input: '#ring-px',
    values: [10, 14, 18, 20, 22, 26],
    figure: 'star-now',
    simulated: { selector: '#verdict', words: 'At {value}\u00a0px' },
  },
  {
    chapter: 'Should I refocus?',
    input: field('guideStar.magnitude'),
    values: [12, 12.5, 13, 13.2, 13.4, 13.6, 13.8, 14],
    figure: 'growth-by-filter',
    simulated: answerState,
  },
  {
    chapter: 'Should I refocus?',
    input: field('telescope.obstructionRatio'),
    values: [0.2, 0.25, 0.3, 0.4],
    figure: 'growth-by-filter',
    simulated: answerState,
  },
  {
    chapter: 'Why a ring still guides',
    input: control('shift'),
    values: [200, 300, 350, 450, 500, 600],
    figure: 'ring-profiles',
  },
  {
    chapter: 'Why a ring still guides',
    input: control('clip'),
    values: [0.9, 0.8, 0.7, 0.6, 0.5, 1],
    figure: 'wave-slope',
  },
  {
    chapter: 'Why a ring still guides',
    input: control('obstruction'),
    values: [0.1, 0.2, 0.3, 0.4, 0.5, 0.25],
    figure: 'noise-of-a-ring',
    simulated: caption('noise-of-a-ring'),
  },
  {
    chapter: 'Which method measures best?',
    input: control('snr'),
    values: [20, 40, 60, 80, 100, 50],
    figure: 'error-over-ring',
    simulated: caption('error-over-ring'),
  },
  {
    chapter: 'Which method measures best?',
    input: control('ring'),
    values: [4, 8, 12, 18, 24, 30],
    figure: 'one-noisy-frame',
  },
  {
    chapter: 'At the edge of the field',
    input: control('offAxis'),
    values: [2, 4, 6, 8, 12, 14],
    figure: 'star-at-the-edge',
  },
  {
    chapter: 'At the edge of the field',
    input: control('edgeClip'),
    values: [0.9, 0.8, 0.6, 0.5, 0.4, 1],
    figure: 'walk-through-focus',
  },
  {
    chapter: 'Is there a star?',
    input: control('latitude'),
    values: [10, 20, 30, 45, 60, 80],
    figure: 'odds-by-focus',
  },
];

const goals = {
  figureMs: 50,
  simulatedMs: 300,
  firstAnswerMs: 1000,
  longestTaskMs: 200,
  imagerMs: 10_000,
} as const;

/** Defined in the page: sets an input, and tells after how long the figure, and the words, have followed. */
const timer = `globalThis.__name ??= (made) => made;
globalThis.timeChange = ({ input, value, figure, simulated }) => new Promise((resolve, reject) => {
  const box = document.getElementById(figure);
  const field = document.querySelector(input);
  const image = () => box.querySelector('[role=img]');
  const told = () => image()?.getAttribute('aria-label');
  const hasWords = () => document.querySelector(simulated.selector)?.textContent.includes(simulated.words.replace('{value}', value));
  const [before, imageBefore] = [told(), image()];
  // A figure may tell the same in its few digits: it has followed once it is drawn anew, not marked as old.
  const follows = () => told() !== before || (image() && image() !== imageBefore && !box.closest('.stale, .old') && !box.querySelector('.stale, .old'));
  const times = {};
  const start = performance.now();
  const end = () => { observer.disconnect(); clearTimeout(limit); resolve(times); };
  const limit = setTimeout(() => { observer.disconnect(); reject(new Error(figure + ' did not follow ' + value)); }, 60000);
  const stamp = (name) => {
    times[name] = 0;
    requestAnimationFrame(() => {
      times[name] = performance.now() - start;
      if (times.figureMs > 0 && (!simulated || times.simulatedMs > 0)) end();
    });
  };
  const observer = new MutationObserver(() => {
    if (times.figureMs === undefined && follows()) stamp('figureMs');
    if (simulated && times.figureMs !== undefined && times.simulatedMs === undefined && hasWords()) stamp('simulatedMs');
  });
  observer.observe(document.body, { subtree: true, childList: true, characterData: true, attributeFilter: ['aria-label', 'class'] });
  field.value = String(value);
  field.dispatchEvent(new Event('input', { bubbles: true }));
});`;

/** In the page: when the first verdict stood there, and how long the longest task took until then. */
const opening = `globalThis.opened = { longestTaskMs: 0 };
new PerformanceObserver((list) => {
  for (const { duration } of list.getEntries()) opened.longestTaskMs = Math.max(opened.longestTaskMs, duration);
}).observe({ type: 'longtask', buffered: true });
new MutationObserver(() => {
  if (opened.firstAnswerMs === undefined && document.querySelector('.verdict-head')?.textContent)
    requestAnimationFrame(() => { opened.firstAnswerMs ??= performance.now(); });
}).observe(document, { subtree: true, childList: true });`;

interface Opened {
  readonly firstAnswerMs: number;
  readonly longestTaskMs: number;
  /** From the address to the verdict on the numbers that were typed. */
  readonly imagerMs: number;
}

const address = new URL('../../examples/dist/notebook/index.html', import.meta.url).href;
const openings: Opened[] = [];

interface Times {
  readonly figureMs: number;
  readonly simulatedMs?: number;
}

async function measure(repeats: number): Promise<Map<Case, Times[][]>> {
  const browser = await chromium.launch(browserOptions());
  const found = new Map<Case, Times[][]>(cases.map((each) => [each, each.values.map(() => [])]));
  try {
    for (let repeat = 0; repeat < repeats; repeat++) {
      const page = await browser.newPage({ viewport: { width: 1200, height: 900 } });
      await page.addInitScript({ content: timer + opening });
      await page.goto(address);
      // The policy of the page forbids the function that Playwright would ask again and again.
      await page.locator('.verdict-head', { hasText: /\w/ }).waitFor({ timeout: 120_000 });
      await page.waitForTimeout(500);
      const opened = (await page.evaluate('opened')) as Opened;
      openings.push({ ...opened, imagerMs: await asImager(browser) });
      for (const each of cases) {
        const { input, values, figure, simulated } = each;
        await page.locator(`#${figure}`).scrollIntoViewIfNeeded();
        await page.locator(`#${figure} [role=img]`).waitFor({ state: 'attached', timeout: 120_000 });
        await page.waitForTimeout(1500);
        for (const [i, value] of values.entries()) {
          const times = await page.evaluate(
            (change) =>
              (globalThis as unknown as { timeChange(change: unknown): Promise<Times> }).timeChange(change),
            { input, value, figure, simulated },
          );
          found.get(each)?.[i].push(times);
          await page.waitForTimeout(300);
        }
      }
      await page.close();
    }
  } finally {
    await browser.close();
  }
  return found;
}

/** The first address of the page, empty: each who comes types the same. */
async function asImager(browser: Browser): Promise<number> {
  const page = await browser.newPage({ viewport: { width: 1400, height: 900 } });
  const start = performance.now();
  await page.goto(address);
  for (const [box, text] of [
    ['[data-first="telescope.apertureMm"]', '100'],
    ['[data-first="telescope.focalLengthMm"]', '500'],
    ['[data-first="guideCamera.pixelSizeUm"]', '3.75'],
    ['[data-first="guideStar.magnitude"]', '12'],
    ['#ring-px', '14'],
  ]) {
    await page.locator(box).selectText();
    await page.locator(box).pressSequentially(text, { delay: 200 });
  }
  await page.locator('.first-answer:not(.stale) .verdict-line', { hasText: 'At 14 px' }).waitFor();
  const found = performance.now() - start;
  await page.close();
  return found;
}

const quantile = (values: readonly number[], part: number): number => {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.ceil(part * sorted.length) - 1)];
};

function least(times: readonly Times[], name: keyof Times): number[] {
  const all = times.flatMap((each) => each[name] ?? []);
  return all.length > 0 ? [Math.min(...all)] : [];
}

const column = (text: string | number, width: number): string => String(text).padStart(width);

function row(words: string, figure: readonly number[], simulated: readonly number[]): string {
  const of = (values: readonly number[], part: number) =>
    values.length > 0 ? Math.round(quantile(values, part)) : '';
  return (
    words.padEnd(58) +
    column(of(figure, 0.5), 8) +
    column(of(figure, 0.95), 8) +
    column(of(simulated, 0.5), 12) +
    column(of(simulated, 0.95), 8)
  );
}

const given = process.argv.indexOf('--repeats');
const repeats = given < 0 ? 3 : Number(process.argv[given + 1]);
if (!(Number.isInteger(repeats) && repeats > 0))
  throw new RangeError(`--repeats must be a whole number from 1 on, got ${process.argv[given + 1]}`);
const found = await measure(repeats);

console.log(
  `${'ms from a change'.padEnd(58)}${column('figure', 8)}${column('p95', 8)}${column('simulated', 12)}${column('p95', 8)}`,
);
const all = { figure: [] as number[], simulated: [] as number[] };
const records = [];
for (const [{ chapter, input, values, figure: id }, changes] of found) {
  const figure = changes.flatMap((times) => least(times, 'figureMs'));
  const simulated = changes.flatMap((times) => least(times, 'simulatedMs'));
  all.figure.push(...figure);
  all.simulated.push(...simulated);
  console.log(row(`${chapter} ${id}`, figure, simulated));
  records.push({
    chapter,
    input,
    figure: id,
    changes: values.map((value, i) => ({ value, times: changes[i] })),
  });
}
console.log(
  row(`all ${all.figure.length} changes, the least of ${repeats} repeats each`, all.figure, all.simulated),
);
console.log(row('goal', [goals.figureMs], [goals.simulatedMs]));

for (const name of ['firstAnswerMs', 'longestTaskMs', 'imagerMs'] as const) {
  const values = openings.map((each) => each[name]);
  console.log(
    `open: ${name}`.padEnd(58) +
      column(Math.round(quantile(values, 0.5)), 8) +
      column(Math.round(quantile(values, 0.95)), 8) +
      column(`goal ${goals[name]}`, 20),
  );
}

const folder = new URL('results/', import.meta.url);
mkdirSync(folder, { recursive: true });
writeFileSync(
  new URL('notebook.json', folder),
  `${JSON.stringify(
    {
      processor: cpus()[0]?.model,
      cores: cpus().length,
      repeats,
      goals,
      medianMs: { figure: quantile(all.figure, 0.5), simulated: quantile(all.simulated, 0.5) },
      p95Ms: { figure: quantile(all.figure, 0.95), simulated: quantile(all.simulated, 0.95) },
      openings,
      records,
    },
    undefined,
    2,
  )}\n`,
);
