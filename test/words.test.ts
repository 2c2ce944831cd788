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

/** Words of the guide's glossary, each with a pattern that finds its forms in a text. */
const glossary = linesOf('docs/glossary.md')
  .filter((line) => line.startsWith('|'))
  .slice(2)
  .map((line) => {
    const forms = line
      .split('|')[1]
      .trim()
      .replace(/ \(.*\)/, '')
      .split(', ')
      .filter((form) => /^\w.*\w$/.test(form));
    return { word: forms[0], pattern: new RegExp(`(?<![\\w-])(?:${forms.join('|')})s?(?![\\w-])`, 'gi') };
  });

/** A page of the guide as its prose alone, as long as it is: other letters are blanks. */
const proseOf = (page: string): string =>
  page.replace(
    /^---\n[\s\S]*?\n---\n|^```[\s\S]*?^```|^(?:#|\||\s*!\[|\s*>).*$|`[^`]*`|!?\[[^\]]*\]\((?!(?:docs\/)?glossary\.md\))[^)]*\)/gm,
    (part) => ' '.repeat(part.length),
  );

/** Words of the glossary whose first use in a page is no link to it. */
function unlinked(page: string): string[] {
  const prose = proseOf(page);
  const links = [...prose.matchAll(/\[[^\]]*\]\((?:docs\/)?glossary\.md\)/g)];
  const uses = glossary.flatMap(({ word, pattern }) =>
    [...prose.matchAll(pattern)].map(({ index, 0: { length } }) => ({
      word,
      from: index,
      to: index + length,
    })),
  );
  // "filter offset" is no use of "offset".
  const own = uses.filter(
    (use) =>
      !uses.some(
        (other) => other.from <= use.from && other.to >= use.to && other.to - other.from > use.to - use.from,
      ),
  );
  return glossary.flatMap(({ word }) => {
    const [first] = own.filter((use) => use.word === word).sort((a, b) => a.from - b.from);
    if (first === undefined) return [];
    const isLinked = links.some(
      ({ index, 0: text }) => index <= first.from && index + text.length >= first.to,
    );
    return isLinked ? [] : [`${word}: ${page.slice(first.from - 20, first.to + 20)}`];
  });
}

test('a page of the guide, and the README, link each word of the glossary where they first use it', () => {
  expect(glossary.length).toBeGreaterThan(30);
  expect(unlinked('A ring has a filter offset; an [offset](glossary.md), a ring.').length).toBe(2);
  const pages = files.filter((name) => /^(README|docs\/(?!glossary).*)\.md$/.test(name));
  expect(pages.length).toBeGreaterThan(10);
  expect(
    pages.flatMap((name) => unlinked(linesOf(name).join('\n')).map((fault) => `${name}: ${fault}`)),
  ).toEqual([]);
});
