/**
 * Runs tests on mutants of one file; `mutation.ts` forks it, so that it can be ended when a mutant never
 * returns.
 */
import { createVitest } from 'vitest/node';

const [file, ...tests] = process.argv.slice(2);
let source: string | undefined;

const conditions = ['@holdfast/source'];
const vitest = await createVitest(
  'test',
  {
    config: false,
    watch: false,
    include: tests,
    reporters: [{}],
    bail: 1,
    pool: 'threads',
    maxWorkers: 1,
    testTimeout: 120_000,
    hookTimeout: 120_000,
  },
  {
    resolve: { conditions },
    ssr: { resolve: { conditions } },
    plugins: [{ name: 'mutant', enforce: 'pre', transform: (_, id) => (id === file ? source : undefined) }],
  },
);
const specifications = await vitest.globTestSpecifications();

process.on('message', async (mutant: string | null) => {
  source = mutant ?? undefined;
  vitest.invalidateFile(file);
  const { testModules, unhandledErrors } = await vitest.runTestSpecifications(specifications);
  const passed = unhandledErrors.length === 0 && testModules.every((module) => module.ok());
  process.send?.(passed);
});
process.send?.('ready');
process.on('disconnect', () => process.exit());
