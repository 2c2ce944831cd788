/**
 * What the tests of published numbers find in place of their test runner when they run in the page: titles
 * are followed, tests that are no number in a table are counted, and left to the command line.
 */
import { counted, inGroup } from './collection.ts';

type Body = (...args: never[]) => unknown;
type Each = (rows: readonly unknown[]) => (title: string, body: Body) => void;

const countEach: Each = (rows) => () => counted(rows.length);
const countOne = () => counted(1);

export const test = Object.assign((_title: string, _body?: unknown) => counted(1), {
  each: countEach,
  skip: countOne,
  skipIf: () => countOne,
  runIf: () => countOne,
});
export const it = test;

const group = (title: string, body: () => void): void => inGroup(title, body);
export const describe = Object.assign(group, {
  each: (rows: readonly unknown[]) => () => counted(rows.length),
  skip: () => undefined,
});

/** Nothing is expected here: the page shows how far off a number is. */
export const expect = (): never => {
  throw new Error('the page runs no test');
};
export const beforeAll = (): void => undefined;
export const afterAll = beforeAll;
