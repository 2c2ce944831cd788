/** One browser for all test files of a run: started before the first, closed after the last. */
import { chromium } from 'playwright-core';
import type { TestProject } from 'vitest/node';
import { browserOptions } from './browser.ts';

declare module 'vitest' {
  interface ProvidedContext {
    browserAddress: string;
  }
}

export default async function startBrowser(project: TestProject): Promise<() => Promise<void>> {
  const server = await chromium.launchServer(browserOptions());
  project.provide('browserAddress', server.wsEndpoint());
  return () => server.close();
}
