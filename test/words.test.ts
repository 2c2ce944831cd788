/** The words that people read: their spelling, their width, and phrases that were retired since readers stumbled over them. */
import { readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, test } from 'vitest';

const root = fileURLToPath(new URL('..', import.meta.url));
const below = (folder: string) =>
  readdirSync(`${root}/${folder}`, { recursive: true, encoding: 'utf8' }).map((name) => `${folder}/${name}`);
const files = [
  ...['README.md', 'DEVELOPERS.md', 'CHANGELOG.md', 'package.json', 'vitest.config.ts'],
  ...['docs', 'examples', 'packages', 'test'].flatMap(below),
]
  .filter((name) => /\.(ts|mjs|md|html|css|json|sh|py)$/.test(name))
  .filter((name) => !/\/(node_modules|dist)\/|^test\/(data\/|words\.test\.ts)/.test(name));
const linesOf = (name: string) => readFileSync(`${root}/${name}`, 'utf8').split('\n');

/** `file:line: text` of every line that matches. */
const found = (names: readonly string[], pattern: RegExp) =>
  names.flatMap((name) =>
    linesOf(name).flatMap((line, i) => {
      const match = pattern.exec(line);
      return match ? [`${name}:${i + 1}: ${match[0]}`] : [];
    }),
  );

describe('spelling is American, in text and in code', () => {
  test.each([
    /centre|centring/i,
    /colour|neighbour|favour|behaviour|grey/i,
    /modelled|modelling|labelled(?!by)|cancelled|travelled/i,
    /(?<!data\/)licence(?!s\/)|\b\w*metres?\b|towards/i,
    /\b\w*(normal|digit|vector|polar|real|optim|digit|vector|polar|[nx]im|organ|summar|initial|quant|recogn)is(e|ed|er|es|ing|ation)\b/i,
  ])('%s stands nowhere', (pattern) => {
    expect(found(files, pattern)).toEqual([]);
  });
});

describe('phrases', () => {
  const counted =
    'frames|trials|pixels|stars|minutes|seconds|electrons|steps|numbers|values|draws|times|points|fields|lines|um|µm|px|arcsec|e⁻|once|one|\\d+';
  const per =
    'point|row|pixel|frame|second|star|shift|filter|method|field|line|trial|night|step|side|cell|image|place|number|hour|run';
  test.each([
    ['"per", not a distributive "a": 64 frames per point', new RegExp(`\\b(${counted}) an? (${per})\\b`)],
    ['a star "stays usable"', /\bstars? (still )?holds?\b|and still hold\b/],
    ['an interval is "the 95 % interval"', /brackets? holds?/],
    ['the loop "pauses": it never holds', /'hold'|\bholdAfter|\bHolding:/],
    ['the air does nothing: "the motion of the air"', /what the air did/],
  ])('%s', (_, pattern) => {
    expect(found(files, pattern)).toEqual([]);
  });
});

test('nothing but code is wider than 110 columns', () => {
  const isProse = (name: string, line: string) =>
    name.endsWith('.md')
      ? !/^\s*(\||!?\[.*\]\(.*\)$)/.test(line)
      : // Formulas and tables stand in columns, three spaces apart.
        /^\s*(\/\/|\*|\/\*\*) /.test(line) && /\.ts$|\.mjs$/.test(name) && !/\S {3,}\S/.test(line);
  const wide = files.flatMap((name) => {
    let isCode = false;
    return linesOf(name).flatMap((line, i) => {
      if (/^\W*```/.test(line)) isCode = !isCode;
      return !isCode && line.length > 110 && isProse(name, line) ? [`${name}:${i + 1}`] : [];
    });
  });
  expect(wide).toEqual([]);
});
