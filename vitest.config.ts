import { defineConfig } from 'vitest/config';

const source = ['@holdfast/source'];

export default defineConfig({
  test: {
    projects: [
      {
        // The library's own tests read its sources: no build stands between an edit and its test.
        resolve: { conditions: source },
        ssr: { resolve: { conditions: source } },
        test: {
          name: 'source',
          include: ['test/**/*.test.ts'],
          exclude: ['test/examples/**', '**/node_modules/**'],
          testTimeout: 120_000,
          hookTimeout: 120_000,
        },
      },
      // Examples and the page are run as users run them: from what was built.
      {
        test: {
          name: 'built',
          include: ['test/examples/**/*.test.ts'],
          testTimeout: 240_000,
          hookTimeout: 240_000,
        },
      },
    ],
    coverage: { provider: 'v8', include: ['packages/*/src/**/*.ts'], reporter: ['text', 'json-summary'] },
  },
});
