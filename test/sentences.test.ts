/**
 * Sentences that a person reads are short enough to be understood at once: texts of the code and of Markdown.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import ts from 'typescript';
import { expect, test } from 'vitest';

const root = fileURLToPath(new URL('..', import.meta.url));
const mostWords = 35;
const below = (folder: string) =>
  readdirSync(`${root}/${folder}`, { recursive: true, encoding: 'utf8' }).map((name) => `${folder}/${name}`);
const files = [
  'README.md',
  'DEVELOPERS.md',
  'CHANGELOG.md',
  ...['docs', 'examples', 'packages'].flatMap(below),
]
  .filter((name) => /\.(md|ts|html)$/.test(name))
  .filter((name) => !/\/(node_modules|dist)\/|^docs\/site/.test(name));

/** Every text of a source file with blanks in it; a value that is put in counts as one word. */
function textsOf(name: string, source: string): string[] {
  const texts: string[] = [];
  const textOf = (node: ts.Node): string => {
    if (ts.isStringLiteralLike(node)) return node.text;
    if (ts.isTemplateExpression(node))
      return node.head.text + node.templateSpans.map(({ literal }) => `X${literal.text}`).join('');
    return isSum(node) ? textOf(node.left) + textOf(node.right) : 'X';
  };
  const isSum = (node: ts.Node): node is ts.BinaryExpression =>
    ts.isBinaryExpression(node) && node.operatorToken.kind === ts.SyntaxKind.PlusToken;
  const walk = (node: ts.Node): void => {
    const isText = ts.isStringLiteralLike(node) || ts.isTemplateExpression(node) || isSum(node);
    if (isText) texts.push(textOf(node));
    // Texts may stand within what a template puts in; parts of a sum were read with it.
    if (!isText || ts.isTemplateExpression(node)) ts.forEachChild(node, walk);
  };
  walk(ts.createSourceFile(name, source, ts.ScriptTarget.Latest));
  return texts.filter((text) => text.includes(' '));
}

/** Paragraphs, items and cells of tables; code left out. */
const markdownTexts = (source: string): string[] =>
  source.replace(/```[\s\S]*?```/g, '').split(/\n\s*\n|\n\s*(?:[-*]|\d+\.)\s|\|/);

const htmlTexts = (source: string): string[] =>
  source
    .replace(/<(script|style)[\s\S]*?<\/\1>/g, '')
    .split(/<\/?(?:p|li|td|th|h\d|div|label|button)\b[^>]*>/);

const sentencesOf = (text: string): string[] => text.replace(/<[^>]*>/g, '').split(/[.!?](?=\s|$)/);
const wordsOf = (sentence: string): number => sentence.match(/\S*[a-z]\S*/gi)?.length ?? 0;

test('the count sees a long sentence', () => {
  const source = `const a = 'one two ' + \`three \${x} four\`;`;
  expect(textsOf('a.ts', source).map(wordsOf)).toEqual([5]);
  expect(sentencesOf('One two, e.g.three. Four?').map(wordsOf)).toEqual([3, 1, 0]);
});

test(`no sentence that a person reads has more than ${mostWords} words`, () => {
  const long = files.flatMap((name) => {
    const source = readFileSync(`${root}/${name}`, 'utf8');
    const texts = name.endsWith('.ts')
      ? textsOf(name, source)
      : name.endsWith('.md')
        ? markdownTexts(source)
        : htmlTexts(source);
    return texts
      .flatMap(sentencesOf)
      .filter((sentence) => wordsOf(sentence) > mostWords)
      .map((sentence) => `${name}: ${wordsOf(sentence)} words: ${sentence.trim().replace(/\s+/g, ' ')}`);
  });
  expect(long).toEqual([]);
});
