/** The whole notebook with everything in it computed: for every reader, on every width, and light enough. */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { gzipSync } from 'node:zlib';
import { estimatorLabels } from '@holdfast/sim/internal';
import type { Page } from 'playwright-core';
import { beforeAll, expect, test } from 'vitest';
import { notebook, type OpenNotebook, openNotebook, pagesOf, setField } from './notebook-page.ts';
import { bytesOf } from './shared-browser.ts';

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

/** Everything computed, as for print; of an own frame, a simulated one. */
async function fill(page: Page): Promise<void> {
  await page.getByRole('button', { name: 'take a simulated frame' }).click();
  await page.evaluate(() => {
    globalThis.print = () => document.body.classList.add('printed');
  });
  await page.getByRole('button', { name: 'print', exact: true }).click();
  await page.locator('body.printed').waitFor();
}

/** Back to the screen, once the figures are drawn for it. */
async function backToScreen(page: Page): Promise<void> {
  await page.evaluate(async () => {
    dispatchEvent(new Event('afterprint'));
    for (let frame = 0; frame < 3; frame++) await new Promise(requestAnimationFrame);
    // Every figure stays drawn, looked at or not.
    dispatchEvent(new Event('beforeprint'));
  });
}

/** Everything unfolded; of the many tables of published numbers, two. */
const openDetails = (page: Page): Promise<void> =>
  page.evaluate(() => {
    for (const details of document.querySelectorAll('details'))
      if (details.closest('.check-groups') === null) details.open = true;
    for (const details of [...document.querySelectorAll<HTMLDetailsElement>('.check-groups details')].slice(
      0,
      2,
    ))
      details.open = true;
  });

let opened: OpenNotebook;
let page: Page;
/** Height of each figure's place, px, before anything was drawn in it and after. */
let rooms: Record<string, number>;
let drawn: Record<string, number>;
let sheets: number | undefined;

const heights = () =>
  page.evaluate(() =>
    Object.fromEntries(
      [...document.querySelectorAll('figure')].map((figure) => [
        figure.id,
        figure.querySelector('.plate')?.clientHeight ?? 0,
      ]),
    ),
  );

// Filled once for all tests here: that computes everything that the page holds.
beforeAll(async () => {
  opened = await openNotebook();
  page = opened.page;
  rooms = await heights();
  await fill(page);
  sheets = await pagesOf(page);
  await backToScreen(page);
  drawn = await heights();
  await openDetails(page);
});

test('on paper it is 12 sheets at most, with the tables of chapter 8 and nothing to click', async () => {
  expect(sheets).toBeLessThanOrEqual(12);
  await page.emulateMedia({ media: 'print' });
  expect(await page.locator('#published-checks table').last().isVisible()).toBe(true);
  for (const part of ['input[type=range]', 'button', '.rig-form', '.controls'])
    expect(await page.locator(part).filter({ visible: true }).count(), part).toBe(0);
  await page.emulateMedia({ media: 'screen' });
});

test('for print every chapter is computed, to the last table', async () => {
  expect(await page.locator('.plate:empty').count()).toBe(0);
  expect(await page.locator('.stale').count()).toBe(0);
  expect(await page.locator('#published-checks table').count()).toBeGreaterThan(20);
});

test('a figure finds its room when it is drawn: the page does not jump', () => {
  // Those of the own frame are hidden until there is one.
  const { 'measured-ring': _, 'whole-frame': __, ...others } = rooms;
  expect(Object.keys(others).length).toBeGreaterThan(10);
  const jumps = Object.entries(others).filter(
    ([figure, room]) => Math.abs(drawn[figure] - room) > Math.max(60, 0.15 * drawn[figure]),
  );
  expect(jumps.map(([figure, room]) => `${figure}: ${room} to ${drawn[figure]} px`)).toEqual([]);
});

test('every figure is named, captioned and tells its numbers; every one is saved as SVG and PNG', async () => {
  const starts = [
    ['SVG', '<svg'],
    ['PNG', '\u0089PNG'],
  ] as const;
  const figures = await page.locator('figure').all();
  expect(figures.length).toBeGreaterThan(10);
  for (const figure of figures) {
    const told = (await figure.locator('svg[role=img]').getAttribute('aria-label')) ?? '';
    expect(told).toMatch(/\d/);
    expect(told).not.toMatch(/NaN|undefined|Infinity/);
    // A picture in it is text, too: any letters.
    const drawing = await figure.locator('svg[role=img]').evaluate((svg) => svg.outerHTML);
    expect(drawing.replace(/data:[^"]*/g, '')).not.toMatch(/NaN|undefined|Infinity/);
  }
  const first = figures[0]!;
  for (const [kind, start] of starts) {
    const [download] = await Promise.all([
      page.waitForEvent('download'),
      first.getByRole('button', { name: `save as ${kind}` }).click(),
    ]);
    expect((await bytesOf(download)).toString('latin1', 0, 4)).toBe(start);
  }
  // Of the others, what their buttons give to the browser: it takes no more than ten files per second.
  const given = await page.evaluate(async () => {
    const blobs = new Map<string, Blob>();
    const { createObjectURL } = URL;
    URL.createObjectURL = (blob: Blob) => {
      const address = createObjectURL(blob);
      blobs.set(address, blob);
      return address;
    };
    const { click } = HTMLAnchorElement.prototype;
    const files: string[][] = [];
    for (const figure of document.querySelectorAll('figure')) {
      const opening: string[] = [];
      for (const kind of ['SVG', 'PNG']) {
        const saved = new Promise<string>((resolve) => {
          HTMLAnchorElement.prototype.click = function (this: HTMLAnchorElement) {
            resolve(this.href);
          };
        });
        figure.querySelector<HTMLButtonElement>(`button[aria-label^="save as ${kind}"]`)?.click();
        const bytes = new Uint8Array(
          (await blobs
            .get(await saved)
            ?.slice(0, 4)
            .arrayBuffer()) ?? [],
        );
        opening.push(String.fromCharCode(...bytes));
      }
      files.push(opening);
    }
    HTMLAnchorElement.prototype.click = click;
    URL.createObjectURL = createObjectURL;
    return files;
  });
  expect(given).toEqual(figures.map(() => starts.map(([, start]) => start)));
});

/**
 * In the page: what in a figure would look like a target, as crossing lines or circles about one center.
 * Lines are those of paths of straight steps.
 */
const targetsIn = (svg: SVGSVGElement): string[] => {
  interface Line {
    readonly from: DOMPoint;
    readonly to: DOMPoint;
  }
  const linesOf = (path: SVGPathElement): Line[] => {
    const matrix = path.getScreenCTM() ?? new DOMMatrix();
    const place = (x: number, y: number) => new DOMPoint(x, y).matrixTransform(matrix);
    const lines: Line[] = [];
    let [x, y] = [0, 0];
    for (const [, letter, rest] of (path.getAttribute('d') ?? '').matchAll(/([A-Za-z])([^A-Za-z]*)/g)) {
      const numbers = rest.match(/-?[\d.]+/g)?.map(Number) ?? [];
      const isRelative = letter === letter.toLowerCase();
      const kind = letter.toUpperCase();
      if (!'MLHV'.includes(kind)) return lines;
      const [a = 0, b = 0] = numbers;
      const [toX, toY] =
        kind === 'H'
          ? [isRelative ? x + a : a, y]
          : kind === 'V'
            ? [x, isRelative ? y + a : a]
            : [isRelative ? x + a : a, isRelative ? y + b : b];
      if (kind !== 'M') lines.push({ from: place(x, y), to: place(toX, toY) });
      [x, y] = [toX, toY];
    }
    return lines;
  };
  const long = 25;
  const lines = [
    ...[...svg.querySelectorAll('path')].flatMap(linesOf),
    ...[...svg.querySelectorAll('line')].map((line) => {
      const { left, top, right, bottom } = line.getBoundingClientRect();
      return { from: new DOMPoint(left, top), to: new DOMPoint(right, bottom) };
    }),
  ];
  const level = lines.filter(({ from, to }) => Math.abs(from.y - to.y) < 1 && Math.abs(from.x - to.x) > long);
  const upright = lines.filter(
    ({ from, to }) => Math.abs(from.x - to.x) < 1 && Math.abs(from.y - to.y) > long,
  );
  const isWithin = (at: number, a: number, b: number) => at > Math.min(a, b) + 5 && at < Math.max(a, b) - 5;
  const crosses = level.flatMap((one) =>
    upright.filter(
      (other) =>
        isWithin(other.from.x, one.from.x, one.to.x) && isWithin(one.from.y, other.from.y, other.to.y),
    ),
  );
  const rings = [...svg.querySelectorAll('circle, ellipse')]
    .filter((ring) => getComputedStyle(ring).fill === 'none')
    .map((ring) => ring.getBoundingClientRect());
  const pairs = rings.flatMap((a, i) =>
    rings
      .slice(i + 1)
      .filter(
        (b) => Math.hypot(a.x + a.width / 2 - b.x - b.width / 2, a.y + a.height / 2 - b.y - b.height / 2) < 4,
      ),
  );
  return [...crosses.map(() => 'crossing lines'), ...pairs.map(() => 'circles about one center')];
};

test('positions stand on ordinary axes: no crosshair and no circles about one center', async () => {
  // Charts have grids; the two rings over an own star are that star's.
  for (const figure of [
    'position-clouds',
    'lesson',
    'one-noisy-frame',
    'moment-of-the-run',
    'star-at-the-edge',
  ]) {
    const svg = page.locator(`#${figure} svg[role=img]`);
    expect(await svg.evaluate(targetsIn), figure).toEqual([]);
    // The same figure with a target in it is noticed.
    await svg.evaluate((element) => {
      const target = document.createElementNS('http://www.w3.org/2000/svg', 'g');
      target.id = 'target';
      target.innerHTML =
        '<path d="M20 60H100M60 20V100"/><circle cx="60" cy="60" r="20" fill="none"/><circle cx="60" cy="60" r="30" fill="none"/>';
      element.append(target);
    });
    expect([...new Set(await svg.evaluate(targetsIn))].sort(), figure).toEqual([
      'circles about one center',
      'crossing lines',
    ]);
    await page.locator('#target').evaluate((target) => target.remove());
  }
});

test('no label lies on a line, unless the line is left out around its letters', async () => {
  const crossed = () =>
    page.evaluate(() => {
      const faults: string[] = [];
      for (const figure of document.querySelectorAll('figure')) {
        const texts = [...figure.querySelectorAll<SVGTextElement>('svg text')]
          .filter((text) => {
            const { paintOrder, stroke, strokeWidth } = getComputedStyle(text);
            return !(
              paintOrder.startsWith('stroke') &&
              stroke !== 'none' &&
              Number.parseFloat(strokeWidth) >= 2
            );
          })
          .map((text) => ({ words: text.textContent, box: text.getBoundingClientRect() }));
        for (const line of figure.querySelectorAll<SVGGeometryElement>('svg path, svg line')) {
          const { stroke, strokeOpacity } = getComputedStyle(line);
          const matrix = line.getScreenCTM();
          if (stroke === 'none' || Number(strokeOpacity) < 0.5 || matrix === null) continue;
          const length = line.getTotalLength();
          for (let at = 0; at <= length; at += 3) {
            const { x, y } = line.getPointAtLength(at).matrixTransform(matrix);
            // The letters stand within the box of their line.
            for (const { words, box } of texts)
              if (x > box.left + 2 && x < box.right - 2 && y > box.top + 4 && y < box.bottom - 4)
                faults.push(`${figure.id}: ${words}`);
          }
        }
      }
      return [...new Set(faults)];
    });
  expect(await crossed()).toEqual([]);
  // A line through a label is noticed.
  await page.evaluate(() => {
    const text = document.querySelector('#lesson svg text') as SVGTextElement;
    const { x, y, width, height } = text.getBBox();
    const line = document.createElementNS('http://www.w3.org/2000/svg', 'path');
    line.id = 'through';
    line.setAttribute('d', `M${x - 20} ${y + height / 2}h${width + 40}`);
    line.setAttribute('stroke', 'black');
    text.after(line);
  });
  expect((await crossed()).length).toBe(1);
  await page.locator('#through').evaluate((line) => line.remove());
});

test('nothing is drawn beyond the edge of its figure', async () => {
  const beyond = () =>
    page.evaluate(() =>
      [...document.querySelectorAll('figure svg[role=img]')].flatMap((svg) => {
        const edge = svg.getBoundingClientRect();
        // A picture within the figure cuts off what is in it; letters and marks may stand out a little.
        return [...svg.querySelectorAll('path, line, rect, circle, ellipse, text, image')]
          .filter((part) => part.closest('svg svg, mask') === null)
          .filter((part) => {
            const { left, right, top, bottom } = part.getBoundingClientRect();
            return Math.max(edge.left - left, right - edge.right, edge.top - top, bottom - edge.bottom) > 16;
          })
          .map((part) => `${svg.closest('figure')?.id}: ${part.outerHTML.slice(0, 80)}`);
      }),
    );
  expect(await beyond()).toEqual([]);
  // An ellipse that is too wide is noticed.
  await page.locator('#lesson svg[role=img]').evaluate((svg) => {
    const wide = document.createElementNS('http://www.w3.org/2000/svg', 'ellipse');
    wide.id = 'wide';
    wide.setAttribute('rx', '2000');
    wide.setAttribute('ry', '9');
    svg.append(wide);
  });
  expect((await beyond()).length).toBe(1);
  await page.locator('#wide').evaluate((ellipse) => ellipse.remove());
});

test('each word of the glossary that the chapters use is linked where it is first used', async () => {
  const links = await page.locator('#chapters a.word').evaluateAll((found) =>
    found.map((link) => ({
      text: link.textContent,
      meaning: document.getElementById((link.getAttribute('href') ?? '#').slice(1))?.textContent ?? 'none',
    })),
  );
  expect(links.length).toBeGreaterThan(20);
  expect(new Set(links.map(({ meaning }) => meaning)).size).toBe(links.length);
  expect(links.filter(({ meaning }) => meaning === 'none')).toEqual([]);
  expect(links.find(({ text }) => text === 'SNR')?.meaning).toContain('signal-to-noise ratio');
});

test('one method has one mark and one color in every figure', async () => {
  const seen = await page.evaluate((labels) => {
    const found: Record<string, { figure: string; look: string }[]> = {};
    for (const figure of document.querySelectorAll('figure'))
      for (const text of figure.querySelectorAll<SVGTextElement>('svg text')) {
        const label = labels.find(
          (each) => text.textContent === each || text.textContent?.startsWith(`${each}: `),
        );
        if (label === undefined) continue;
        const { left, top, height } = text.getBoundingClientRect();
        // The mark stands at the left of its label.
        const mark = [...figure.querySelectorAll('svg path')].find((path) => {
          const box = path.getBoundingClientRect();
          const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
          return box.width < 18 && x < left && x > left - 40 && y > top && y < top + height;
        });
        const outline = mark?.getAttribute('d')?.replace(/[\d\s.,-]/g, '') ?? 'none';
        const look = `${outline} in ${getComputedStyle(text).fill}`;
        found[label] = [...(found[label] ?? []), { figure: figure.id, look }];
      }
    return found;
  }, Object.values(estimatorLabels));
  expect(Object.keys(seen).sort()).toEqual(Object.values(estimatorLabels).sort());
  const looks = Object.entries(seen).map(([label, all]) => {
    expect(new Set(all.map(({ figure }) => figure)).size, label).toBeGreaterThan(2);
    const [look, ...others] = new Set(all.map((each) => each.look));
    expect(others, `${label}, ${look}, in ${JSON.stringify(all)}`).toEqual([]);
    expect(look).not.toContain('none');
    return look;
  });
  expect(new Set(looks).size).toBe(looks.length);
});

// Rules apply in both colors and at both widths; that none depends on the pair saves half of the long runs
// over the whole page. `page.test.ts` runs all four pairs on the chapter of the report.
test('no accessibility fault and no overflow, light, dark and night, 1200 and 360 px wide', async () => {
  // A fault of the rig is part of the page, too.
  await setField(page, 'telescope.obstructionRatio', '1.5');
  await page.evaluate(axe);
  // Of the night only the colors differ.
  for (const [colorScheme, width, rules] of [
    ['light', 1200, {}],
    ['dark', 1200, undefined],
    ['dark', 360, {}],
    ['light', 360, undefined],
    ['night', 1200, { runOnly: ['color-contrast'] }],
  ] as const) {
    await page.evaluate((theme) => {
      if (theme === 'night') document.documentElement.dataset['theme'] = theme;
    }, colorScheme);
    await page.setViewportSize({ width, height: 800 });
    await page.emulateMedia({ colorScheme: colorScheme === 'night' ? 'dark' : colorScheme });
    const widths = () =>
      page.evaluate(() =>
        [...document.querySelectorAll('figure svg[role=img]')].map((svg) => svg.clientWidth),
      );
    await expect.poll(async () => Math.max(...(await widths()))).toBeLessThanOrEqual(width);
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(width);
    if (rules === undefined) continue;
    const faults = await page.evaluate(async (rules) => {
      const { axe } = globalThis as unknown as {
        axe: { run(rules: object): Promise<{ violations: { id: string; nodes: { html: string }[] }[] }> };
      };
      // What passes is not told, which takes most of the time.
      const { violations } = await axe.run({ ...rules, resultTypes: ['violations'] });
      return violations.map(({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html).join(' ')}`);
    }, rules);
    expect(faults, `${colorScheme}, ${width} px`).toEqual([]);
  }
});

test('complains of nothing and asks nothing of a network', () => {
  expect(opened.complaints).toEqual([]);
});

test('weighs less than 1 MB as sent', () => {
  expect(gzipSync(readFileSync(new URL(notebook))).length).toBeLessThan(1e6);
});
