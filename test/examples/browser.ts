/** Debian's Chromium or another, without a window and without calls of its own. */
import { existsSync } from 'node:fs';
import type { LaunchOptions } from 'playwright-core';

const places = ['/usr/bin/chromium', '/usr/bin/chromium-browser', '/usr/bin/google-chrome'];

export function browserOptions(): LaunchOptions {
  const executablePath = places.find((path) => existsSync(path));
  if (executablePath === undefined)
    throw new Error('This test needs Chromium: install it with  apt-get install chromium');
  return {
    executablePath,
    args: [
      '--no-sandbox',
      '--disable-gpu',
      '--disable-quic',
      '--no-first-run',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
    ],
  };
}
