import { defineConfig } from 'vitest/config';

const source = ['@holdfast/source'];
/** Counts calls by standing between the library's files: it needs a copy of the library of its own. */
const counts = 'test/work-counts.test.ts';

export default defineConfig({
  test: {
    maxWorkers: 2,
    projects: [
      {
        // The library's own tests read its sources: no build stands between an edit and its test.
        resolve: { conditions: source },
        ssr: { resolve: { conditions: source } },
        test: {
          name: 'source',
          // No `exclude` here: with one, that of `npm test` for the slow tests would have no effect.
          include: ['test/**/*.test.ts', '!test/examples/**', `!${counts}`],
          // The library keeps no state between its callers: one copy of it, compiled once, serves many test
          // files.
          pool: 'threads',
          isolate: false,
          expect: { requireAssertions: true },
          testTimeout: 600_000,
          hookTimeout: 600_000,
        },
      },
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
      // Examples and the page are run as users run them: from what was built.
      {
        test: {
          name: 'built',
          include: ['test/examples/**/*.test.ts'],
          // In processes, as programs change their folder; the same one serves many files, with its browser.
          pool: 'forks',
          isolate: false,
          globalSetup: 'test/examples/browser-server.ts',
          // What is waited for comes, however busy the machine: the limits only end what hangs.
          expect: { requireAssertions: true, poll: { timeout: 400_000 } },
          testTimeout: 900_000,
          hookTimeout: 900_000,
        },
      },
    ],
    coverage: { provider: 'v8', include: ['packages/*/src/**/*.ts'], reporter: ['text', 'json-summary'] },
  },
});
