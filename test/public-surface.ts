/** What each package shows to the outside, read from its sources by the compiler. */
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import ts from 'typescript';

const root = fileURLToPath(new URL('..', import.meta.url));

/** Entries with a promise of stability; `internal` and `numerics` have none. */
export const entries = {
  '@holdfast/psf': 'packages/psf/src/index.ts',
  '@holdfast/centroid': 'packages/centroid/src/index.ts',
  '@holdfast/centroid/contract': 'packages/centroid/src/contract.ts',
  '@holdfast/sim': 'packages/sim/src/index.ts',
  '@holdfast/sim/workers': 'packages/sim/src/sweep/workers.ts',
  '@holdfast/sim/arrow': 'packages/sim/src/sweep/arrow.ts',
} as const;

const program = ts.createProgram(
  Object.values(entries).map((entry) => join(root, entry)),
  {
    target: ts.ScriptTarget.ES2022,
    module: ts.ModuleKind.NodeNext,
    moduleResolution: ts.ModuleResolutionKind.NodeNext,
    customConditions: ['@holdfast/source'],
    lib: ['lib.es2023.d.ts'],
    types: [],
    strict: true,
    exactOptionalPropertyTypes: true,
    allowImportingTsExtensions: true,
    noEmit: true,
    skipLibCheck: true,
  },
);
const checker = program.getTypeChecker();

export interface Export {
  readonly name: string;
  readonly isValue: boolean;
  /** The thing itself, past all re-exports. */
  readonly symbol: ts.Symbol;
}

const itself = (symbol: ts.Symbol): ts.Symbol =>
  symbol.flags & ts.SymbolFlags.Alias ? checker.getAliasedSymbol(symbol) : symbol;

/** All that an entry exports, in the order of the alphabet. */
export function exportsOf(entry: string): Export[] {
  const file = program.getSourceFile(join(root, entry));
  const module = file && checker.getSymbolAtLocation(file);
  if (module === undefined) throw new Error(`${entry} is no module`);
  return checker
    .getExportsOfModule(module)
    .map((one) => {
      const symbol = itself(one);
      return { name: one.name, symbol, isValue: (symbol.flags & ts.SymbolFlags.Value) !== 0 };
    })
    .sort((a, b) => (a.name < b.name ? -1 : 1));
}

const isOurs = (node: ts.Node): boolean => node.getSourceFile().fileName.includes('/packages/');

/**
 * The parts of a declaration that its users see: not the body of a function, nor the value of a typed
 * constant.
 */
function visitSignature(node: ts.Node, visit: (type: ts.Symbol) => void): void {
  if (ts.isBlock(node)) return;
  if (ts.isTypeReferenceNode(node) || ts.isExpressionWithTypeArguments(node)) {
    const named = checker.getSymbolAtLocation(ts.isTypeReferenceNode(node) ? node.typeName : node.expression);
    if (named !== undefined) visit(itself(named));
  }
  ts.forEachChild(node, (child) => visitSignature(child, visit));
}

/** Named types that the given exports speak of, directly or through one another. */
export function typesNeeded(exports: readonly Export[]): Set<ts.Symbol> {
  const found = new Set<ts.Symbol>();
  const types = ts.SymbolFlags.Interface | ts.SymbolFlags.TypeAlias | ts.SymbolFlags.Class;
  const follow = (symbol: ts.Symbol) => {
    if (found.has(symbol) || !(symbol.flags & types)) return;
    const ours = symbol.declarations?.filter(isOurs) ?? [];
    if (ours.length === 0) return;
    found.add(symbol);
    for (const declaration of ours) visitSignature(declaration, follow);
  };
  for (const { symbol } of exports)
    for (const declaration of symbol.declarations ?? []) visitSignature(declaration, follow);
  return found;
}

const isDocumented = (node: ts.Node): boolean =>
  ts.getJSDocCommentsAndTags(node).some((part) => ts.isJSDoc(part) && String(part.comment ?? '') !== '');

/** Something that a user meets without a word of explanation. */
export interface Bare {
  readonly name: string;
  readonly node: ts.Node;
}

/**
 * Exports, and members of their types, that have no comment. The members of an unnamed type inside something
 * explained are explained by that; what tells the members of a union apart says itself what it is.
 */
export function undocumented(exports: readonly Export[]): Bare[] {
  const bare: Bare[] = [];
  const visited = new Set<ts.Node>();
  const visit = (node: ts.Node, path: string): void => {
    if (ts.isBlock(node) || visited.has(node)) return;
    visited.add(node);
    if (ts.isPropertySignature(node) || ts.isMethodSignature(node) || ts.isPropertyDeclaration(node)) {
      const name = `${path}.${node.name.getText()}`;
      const isTag = node.type !== undefined && ts.isLiteralTypeNode(node.type);
      if (!isTag && !isDocumented(node)) bare.push({ name, node });
      return;
    }
    if (ts.isParameter(node)) return;
    ts.forEachChild(node, (child) => visit(child, path));
  };
  for (const { name, symbol } of exports)
    for (const declaration of symbol.declarations?.filter(isOurs) ?? []) {
      const statement = ts.isVariableDeclaration(declaration) ? declaration.parent.parent : declaration;
      if (!isDocumented(statement)) bare.push({ name, node: statement });
      const isUnion = ts.isTypeAliasDeclaration(declaration) && ts.isUnionTypeNode(declaration.type);
      if (!ts.isFunctionDeclaration(declaration) && !isUnion) visit(declaration, name);
    }
  return bare;
}

/** A declaration as its users see it: without comments, bodies and the values of constants. */
function signature(declaration: ts.Declaration): string {
  const file = declaration.getSourceFile();
  const node = ts.isVariableDeclaration(declaration) ? declaration.parent.parent : declaration;
  if (ts.isVariableDeclaration(declaration)) {
    const type = checker.typeToString(
      checker.getTypeAtLocation(declaration),
      undefined,
      ts.TypeFormatFlags.NoTruncation,
    );
    return `const ${declaration.name.getText()}: ${type}`;
  }
  const isFunction = ts.isFunctionDeclaration(declaration) && declaration.body !== undefined;
  const end = isFunction ? declaration.body.getStart() : node.end;
  return file.text
    .slice(node.getStart(), end)
    .replace(/\/\*[\s\S]*?\*\/|^\s*\/\/.*$/gm, '')
    .replace(/\s+/g, ' ')
    .replace(/^export /, '')
    .trim();
}

/** All that an entry promises: one line per export, in the order of the alphabet. */
export const promised = (entry: string): string[] =>
  exportsOf(entry).flatMap(({ name, symbol }) =>
    (symbol.declarations?.filter(isOurs) ?? []).map((declaration) => `${name}: ${signature(declaration)}`),
  );
