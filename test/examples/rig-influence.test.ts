/** Each entry of the rig file changes what the programs answer, or there is a reason why not. */
import { describe, expect, test } from 'vitest';
import { committed, unexplained, unused } from '../influence/influence.ts';
import { changedEntries } from '../influence/rigs.ts';

const entries = changedEntries();

describe("the committed table of the rig's influence", () => {
  test('has every entry of the rig file', () => {
    expect(Object.keys(committed())).toEqual(entries.map(({ entry }) => entry));
  });
  test('has a reason wherever an answer does not change', () => {
    expect(unexplained(committed())).toEqual([]);
  });
  test('needs each of its reasons', () => {
    expect(unused(committed())).toEqual([]);
  });
});
