/** The browser that all test files share, and what its pages save. */
import { type Browser, chromium, type Download } from 'playwright-core';
import { inject } from 'vitest';

/** For what comes in the end, however busy the machine: it only ends what hangs. */
export const patienceMs = 400_000;

/** Each test file connects for itself; what it opened goes with its connection. */
export const sharedBrowser = (): Promise<Browser> => chromium.connect(inject('browserAddress'));

export async function bytesOf(download: Download): Promise<Buffer> {
  const chunks: Buffer[] = [];
  for await (const chunk of await download.createReadStream()) chunks.push(chunk as Buffer);
  return Buffer.concat(chunks);
}
