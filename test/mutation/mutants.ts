/** Small faults in a source file, each of which a good test must notice. */
import ts from 'typescript';

export interface Mutant {
  readonly line: number;
  /** The line before and after, without its indentation: tells mutants apart whatever moves above them. */
  readonly change: string;
  /** The whole file with this one fault. */
  readonly source: string;
}

const swaps = new Map<ts.SyntaxKind, string>([
  [ts.SyntaxKind.PlusToken, '-'],
  [ts.SyntaxKind.MinusToken, '+'],
  [ts.SyntaxKind.AsteriskToken, '/'],
  [ts.SyntaxKind.SlashToken, '*'],
  [ts.SyntaxKind.AsteriskAsteriskToken, '*'],
  [ts.SyntaxKind.PlusEqualsToken, '-='],
  [ts.SyntaxKind.MinusEqualsToken, '+='],
  [ts.SyntaxKind.AsteriskEqualsToken, '/='],
  [ts.SyntaxKind.SlashEqualsToken, '*='],
  [ts.SyntaxKind.LessThanToken, '>='],
  [ts.SyntaxKind.LessThanEqualsToken, '>'],
  [ts.SyntaxKind.GreaterThanToken, '<='],
  [ts.SyntaxKind.GreaterThanEqualsToken, '<'],
  [ts.SyntaxKind.EqualsEqualsEqualsToken, '!=='],
  [ts.SyntaxKind.ExclamationEqualsEqualsToken, '==='],
  [ts.SyntaxKind.AmpersandAmpersandToken, '||'],
  [ts.SyntaxKind.BarBarToken, '&&'],
]);
const otherFunctions = new Map([
  ['min', 'max'],
  ['max', 'min'],
  ['sqrt', 'abs'],
  ['abs', 'sqrt'],
  ['floor', 'ceil'],
  ['ceil', 'floor'],
  ['sin', 'cos'],
  ['cos', 'sin'],
]);

/**
 * One mutant for each operator (`+` to `-`, `*` to `/`, `<` to `>=`, `&&` to `||` ...), number (1 more; 5 %
 * more where it is not whole), sign, function of Math, truth value and choice of the file. Texts, types and
 * the messages of errors are left.
 */
export function mutantsOf(fileName: string, source: string): Mutant[] {
  const file = ts.createSourceFile(fileName, source, ts.ScriptTarget.Latest, true);
  const mutants: Mutant[] = [];
  const replace = (node: ts.Node, text: string): void => {
    const start = node.getStart(file);
    const mutated = source.slice(0, start) + text + source.slice(node.getEnd());
    const lineStart = source.lastIndexOf('\n', start - 1) + 1;
    const lineOf = (all: string, end: number) =>
      all
        .slice(lineStart, all.indexOf('\n', end) >>> 0)
        .replace(/\s+/g, ' ')
        .trim();
    const { line } = file.getLineAndCharacterOfPosition(start);
    const change = `${lineOf(source, node.getEnd())}  =>  ${lineOf(mutated, start + text.length)}`;
    mutants.push({ line: line + 1, change, source: mutated });
  };
  const visit = (node: ts.Node): void => {
    if (ts.isTypeNode(node) || ts.isImportDeclaration(node) || ts.isThrowStatement(node)) return;
    if (ts.isInterfaceDeclaration(node) || ts.isTypeAliasDeclaration(node)) return;
    if (ts.isBinaryExpression(node)) {
      const swapped = swaps.get(node.operatorToken.kind);
      if (swapped !== undefined) replace(node.operatorToken, swapped);
    }
    if (ts.isNumericLiteral(node)) replace(node, otherNumber(Number(node.text)));
    if (node.kind === ts.SyntaxKind.TrueKeyword) replace(node, 'false');
    if (node.kind === ts.SyntaxKind.FalseKeyword) replace(node, 'true');
    if (ts.isPrefixUnaryExpression(node) && node.operator === ts.SyntaxKind.MinusToken)
      replace(node, node.operand.getText(file));
    if (ts.isPrefixUnaryExpression(node) && node.operator === ts.SyntaxKind.ExclamationToken)
      replace(node, node.operand.getText(file));
    if (ts.isPropertyAccessExpression(node) && node.expression.getText(file) === 'Math') {
      const other = otherFunctions.get(node.name.text);
      if (other !== undefined) replace(node.name, other);
    }
    if (ts.isConditionalExpression(node)) {
      const { condition, whenTrue, whenFalse } = node;
      // A comparison is turned about already by its operator.
      if (!ts.isBinaryExpression(condition))
        replace(node, `${condition.getText(file)} ? ${whenFalse.getText(file)} : ${whenTrue.getText(file)}`);
    }
    ts.forEachChild(node, visit);
  };
  visit(file);
  return mutants;
}

function otherNumber(value: number): string {
  return String(Number.isInteger(value) && value < 1000 ? value + 1 : value * 1.05);
}
