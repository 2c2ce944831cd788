/** Opens the notebook without a report, as someone who got the file. */
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { parseRig } from '@holdfast/sim';
import type { Browser, BrowserContextOptions, Page } from 'playwright-core';
import { plainText } from './plain-rig.ts';
import { repository } from './run-example.ts';
import { patienceMs, sharedBrowser } from './shared-browser.ts';

export const notebook = pathToFileURL(join(repository, 'examples/dist/notebook/index.html')).href;

let connected: Promise<Browser> | undefined;

/** The filters near focus: wide rings make every window large and every answer slow. Blue is the fourth. */
export function fewFilters(text: Record<string, unknown>): Record<string, unknown> {
  return { ...text, filters: (text['filters'] as readonly unknown[]).slice(0, 4) };
}

/**
 * What the page is given in its address: a star on the axis by rays, as most tests are about the page and not
 * the star.
 */
export const exampleText = fewFilters(plainText('fast-reflector'));
export const exampleRig = parseRig(exampleText);
/** Seed of everything that the page simulates. */
export const seed = 'notebook';

/** Most frames that the page simulates per star. */
export const frames = 256;

/** A state as the page writes it into its address: no more frames than its numbers are compared with. */
export const fragmentOf = (rig: unknown): string =>
  `#state=${Buffer.from(JSON.stringify({ rig, controls: { frames: String(frames) } })).toString('base64url')}`;

export interface OpenNotebook {
  readonly page: Page;
  /** What it complained of, or asked of a network, so far. */
  readonly complaints: readonly string[];
  close(): Promise<void>;
}

type NotebookOptions = BrowserContextOptions & { readonly fragment?: string };

/** The rig that a page starts from without a link, but by rays and with the fewest frames that it offers. */
export const firstRig = {
  fragment: fragmentOf({
    telescope: { apertureMm: 120, focalLengthMm: 840, obstructionRatio: 0 },
    guideCamera: { pixelSizeUm: 2.9 },
    guideStar: { magnitude: 11 },
    starModel: 'geometric',
  }),
};

/** For tests that need a page which nobody has used. */
export const newPage = { viewport: { width: 1200, height: 900 } };

export async function openNotebook({
  fragment = fragmentOf(exampleText),
  ...options
}: NotebookOptions = {}): Promise<OpenNotebook> {
  connected ??= sharedBrowser();
  const browser = await connected;
  const context = await browser.newContext({ ...newPage, ...options });
  context.setDefaultTimeout(patienceMs);
  const complaints: string[] = [];
  const page = await context.newPage();
  page.on('console', (message) => {
    if (message.type() === 'error' || message.type() === 'warning') complaints.push(message.text());
  });
  page.on('pageerror', (error) => complaints.push(error.message));
  page.on('request', (request) => {
    if (!/^(file|data|blob):/.test(request.url())) complaints.push(`asked for ${request.url()}`);
  });
  await page.goto(notebook + fragment);
  await page.locator('#colophon p').waitFor();
  return { page, complaints, close: () => context.close() };
}

/**
 * Pages that many tests ask for: the next one goes on with the page. Others are closed, since a page that
 * nobody looks at simulates on.
 */
const keptFragments = [fragmentOf(exampleText), firstRig.fragment];
const kept = new Map<string, OpenNotebook>();

/**
 * The complaints of a notebook that was open while `look` was at it. The page is one that an earlier test may
 * have used, put back to its first state as the browser's Back would; a test that asks for something of its
 * own gets a page of its own.
 */
export async function withNotebook(
  look: (page: Page) => Promise<void>,
  options: NotebookOptions = {},
): Promise<readonly string[]> {
  const { fragment = fragmentOf(exampleText), ...others } = options;
  const isOwn = Object.keys(others).length > 0 || !keptFragments.includes(fragment);
  const earlier = isOwn ? undefined : kept.get(fragment);
  const opened = earlier ?? (await openNotebook(options));
  const { page, complaints, close } = opened;
  if (!isOwn) kept.set(fragment, opened);
  if (earlier !== undefined)
    await page.evaluate((first) => {
      scrollTo(0, 0);
      // What was typed last may not be in the address yet: only an address that none has is a change of it.
      location.hash = '#state=';
      location.hash = first;
    }, fragment);
  const before = complaints.length;
  try {
    await look(page);
  } finally {
    if (isOwn) await close();
  }
  return complaints.slice(before);
}

/** Numbers as the library gives them: the page prints true minus signs and spaces that do not break. */
export const plain = (text: string | null): string =>
  (text ?? '').replaceAll('\u00a0', ' ').replaceAll('−', '-').trim();

/** What a figure says of itself; empty before it is drawn. */
export async function figureText(page: Page, id: string): Promise<string> {
  await keepInView(page, id);
  const svg = page.locator(`#${id} svg[role=img]`);
  return (await svg.count()) === 0 ? '' : plain(await svg.getAttribute('aria-label'));
}

/** As a reader does whose page grows above what is read: scroll again where the part has gone out of view. */
export async function keepInView(page: Page, id: string): Promise<void> {
  await page.evaluate((id) => {
    const part = document.getElementById(id);
    // A figure that is not drawn yet has no place of its own.
    (part?.closest('section') ?? part)?.scrollIntoView({ block: 'nearest' });
  }, id);
}

/** How many sheets it is on paper. */
export const pagesOf = async (page: Page): Promise<number | undefined> =>
  (await page.pdf({ format: 'A4' })).toString('latin1').match(/\/Type\s*\/Page[^s]/g)?.length;

/** Set a slider by its number. */
export async function setControl(page: Page, name: string, value: number): Promise<void> {
  const number = page.locator(`[data-control="${name}"] input.number`);
  await number.fill(String(value));
}

/** Write into a field of the rig. */
export async function setField(page: Page, field: string, value: string): Promise<void> {
  const input = page.locator(`[data-field="${field}"]`);
  await input.evaluate((element) => {
    const details = element.closest('details');
    if (details) details.open = true;
  });
  await input.fill(value);
}

/** Drop a file as a mouse does, on any part of the page. */
export async function drop(page: Page, name: string, bytes: Uint8Array, onto = '.drop'): Promise<void> {
  const data = await page.evaluateHandle(
    ([file, values]) => {
      const transfer = new DataTransfer();
      transfer.items.add(new File([Uint8Array.from(values)], file));
      return transfer;
    },
    [name, Array.from(bytes)] as const,
  );
  await page.locator(onto).dispatchEvent('drop', { dataTransfer: data });
}
