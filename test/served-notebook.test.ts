/** What `npm run notebook` serves, to whom, and what the page may do. */
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { createServer } from 'vite';
import { expect, test } from 'vitest';

const repository = new URL('../', import.meta.url);
const read = (path: string): string => readFileSync(new URL(path, repository), 'utf8');

test('the page runs under a policy that allows no request and no text as code', () => {
  const policy = /http-equiv="Content-Security-Policy"\s+content="([^"]*)"/.exec(
    read('examples/notebook/index.html'),
  )?.[1];
  const rules = new Map(policy?.split('; ').map((rule) => [rule.split(' ')[0], rule]));
  expect(rules.get('default-src')).toBe("default-src 'none'");
  expect(rules.get('connect-src')).toBe("connect-src 'none'");
  // Compiled loops are allowed; code that is made of text is not.
  expect(policy).not.toMatch(/'unsafe-eval|https?:|\*/);
});

test('the notebook is served on this machine alone, and nothing above the repository', async () => {
  const { scripts } = JSON.parse(read('package.json')) as { scripts: Record<string, string> };
  const host = /--host (\S+)/.exec(scripts['notebook'] ?? '')?.[1];
  expect(host).toBe('127.0.0.1');
  const server = await createServer({
    root: fileURLToPath(new URL('examples/notebook', repository)),
    logLevel: 'silent',
    optimizeDeps: { noDiscovery: true },
    server: { host: host ?? '', port: 0, ws: false, watch: null },
  });
  try {
    await server.listen();
    const address = server.httpServer?.address();
    if (typeof address !== 'object' || address === null) throw new Error('no address');
    expect(address.address).toBe('127.0.0.1');
    const at = `http://127.0.0.1:${address.port}`;
    expect((await fetch(`${at}/index.html`)).status).toBe(200);
    for (const path of ['/@fs/etc/passwd', '/..%2f..%2f..%2f..%2f..%2fetc/passwd', '/@fs/etc/passwd?raw']) {
      const answer = await fetch(`${at}${path}`);
      expect(await answer.text()).not.toContain('root:');
    }
  } finally {
    await server.close();
  }
});
