import { defineConfig } from 'vitest/config';

const source = ['@holdfast/source'];
/** Counts calls by standing between the library's files: it needs a copy of the library of its own. */
const counts = 'test/work-counts.test.ts';
/** Run by `npm run test:all` and in CI only. */
const slow = 'test/**/*.slow.test.ts';
const examples = 'test/examples/**';

/** The library's own tests read its sources: no build stands between an edit and its test. */
const ofSources = (name: string, include: string[]) => ({
  resolve: { conditions: source },
  ssr: { resolve: { conditions: source } },
  test: {
    name,
    include,
    // The library keeps no state between its callers: one copy of it, compiled once, serves many test files.
    pool: 'threads' as const,
    isolate: false,
    expect: { requireAssertions: true },
    testTimeout: 600_000,
    hookTimeout: 600_000,
  },
});

/** Examples and the page are run as users run them: from what was built. */
const ofBuilt = (name: string, include: string[]) => ({
  test: {
    name,
    include,
    // In processes, as programs change their folder; the same one serves many files, with its browser.
    pool: 'forks' as const,
    isolate: false,
    globalSetup: ['test/examples/scratch-folder.ts', 'test/examples/browser-server.ts'],
    // What is waited for comes, however busy the machine: the limits only end what hangs.
    expect: { requireAssertions: true, poll: { timeout: 400_000 } },
    testTimeout: 900_000,
    hookTimeout: 900_000,
  },
});

export default defineConfig({
  test: {
    maxWorkers: 2,
    projects: [
      ofSources('source', ['test/**/*.test.ts', `!${slow}`, `!${examples}`, `!${counts}`]),
      ofSources('source-slow', [slow, `!${examples}`]),
      {
        resolve: { conditions: source },
        ssr: { resolve: { conditions: source } },
        test: {
          name: 'counts',
          include: [counts],
          expect: { requireAssertions: true },
          testTimeout: 600_000,
          hookTimeout: 600_000,
        },
      },
      ofBuilt('built', [`${examples}/*.test.ts`, `!${slow}`]),
      ofBuilt('built-slow', [`${examples}/*.slow.test.ts`]),
    ],
    coverage: { provider: 'v8', include: ['packages/*/src/**/*.ts'], reporter: ['text', 'json-summary'] },
  },
});
