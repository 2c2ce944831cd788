/**
 * Checksums as another engine computes them: a page of the library's sources in a browser without a window.
 */
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdirSync, mkdtempSync, readFileSync } from 'node:fs';
import { rm } from 'node:fs/promises';
import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { text } from 'node:stream/consumers';
import { fileURLToPath } from 'node:url';
import { build, defaultClientConditions } from 'vite';
import { rigTexts } from './table.ts';

type Table = Record<string, string>;

/**
 * All of them, or the quick ones. `browser` is a program, as `chromium` or `firefox-esr`. Rejects with what
 * failed in the page.
 */
export async function checksumsInBrowser(browser: string, which: 'all' | 'quick' = 'all'): Promise<Table> {
  const folder = mkdtempSync(join(tmpdir(), 'holdfast-checksums-'));
  const [site, profile] = [join(folder, 'site'), join(folder, 'profile')];
  // Firefox waits for ever for a profile that is not there.
  mkdirSync(profile);
  await build({
    root: fileURLToPath(new URL('page/', import.meta.url)),
    logLevel: 'error',
    configFile: false,
    resolve: { conditions: ['@holdfast/source', ...defaultClientConditions] },
    build: { target: 'es2022', outDir: site, emptyOutDir: true, modulePreload: false },
  });
  try {
    return await answerOf(browser, site, profile, which);
  } finally {
    // Helpers of the browser may still write: what cannot go stays in the folder of temporary files.
    await rm(folder, { recursive: true, force: true, maxRetries: 20, retryDelay: 200 }).catch(() => {});
  }
}

async function answerOf(browser: string, site: string, profile: string, which: string): Promise<Table> {
  const server = createServer().listen(0, '127.0.0.1');
  await once(server, 'listening');
  const address = `http://127.0.0.1:${(server.address() as AddressInfo).port}/?${which}`;
  const options = /firefox/.test(browser)
    ? ['--headless', '--no-remote', '--profile', profile]
    : ['--headless', '--no-sandbox', '--disable-gpu', `--user-data-dir=${profile}`];
  const window = spawn(browser, [...options, address], { stdio: 'ignore' });
  try {
    return await new Promise((resolve, reject) => {
      window.on('error', reject);
      window.on('exit', (code) => reject(new Error(`${browser} ended with ${code} before its page did`)));
      server.on('request', async (request, response) => {
        const path = request.url?.startsWith('/?') ? '/index.html' : `${request.url}`;
        if (path.endsWith('.js')) response.setHeader('content-type', 'text/javascript');
        if (request.method === 'GET') {
          response.end(path === '/rigs' ? JSON.stringify(rigTexts()) : readFileSync(join(site, path)));
          return;
        }
        response.end();
        const { found, failure } = JSON.parse(await text(request));
        if (failure === undefined) resolve(found);
        else reject(new Error(`in ${browser}: ${failure}`));
      });
    });
  } finally {
    window.kill();
    if (window.exitCode === null && window.pid !== undefined) await once(window, 'exit');
    server.close();
  }
}
