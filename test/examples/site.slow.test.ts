/** The guide as a site: built by one command without a warning, it needs no network. */
import { spawnSync } from 'node:child_process';
import { existsSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { optionName, readOptions } from '../../examples/dist/programs/command-line/read-options.js';
import { commands, mainCommand } from '../../examples/dist/programs/commands.js';
import { freshFolder, repository } from './run-example.ts';

const docs = join(repository, 'docs');
const pages = readdirSync(docs).filter((name) => name.endsWith('.md'));

test('every page and every public name is in the site, which loads nothing from elsewhere', () => {
  const folder = freshFolder();
  const notebook = join(repository, 'holdfast.html');
  const isMade = existsSync(notebook);
  if (!isMade)
    writeFileSync(notebook, '<!doctype html><title>The notebook stands here after npm start</title>');
  // `npm run check` has checked the types.
  const typedoc = join(repository, 'node_modules/typedoc/bin/typedoc');
  const { status, stdout, stderr } = spawnSync(
    process.execPath,
    [typedoc, '--skipErrorChecking', '--out', folder],
    {
      cwd: repository,
      encoding: 'utf8',
    },
  );
  if (!isMade) rmSync(notebook);
  expect(`${stdout}${stderr}`).not.toMatch(/warning|error/);
  expect(status).toBe(0);
  const files = readdirSync(folder, { recursive: true, encoding: 'utf8' });
  expect(files.filter((file) => /^documents.*\.html$/.test(file))).toHaveLength(pages.length);
  for (const name of ['renderStar', 'gaussianFit', 'adviseRefocus'])
    expect(files.filter((file) => file.endsWith(`.${name}.html`))).toHaveLength(1);
  for (const file of files.filter((name) => name.endsWith('.html')))
    expect(readFileSync(join(folder, file), 'utf8')).not.toMatch(
      /<(script|link|img)[^>]*(src|href)="(https?:)?\/\//,
    );
});

test('the commands of README and guide have the options that they use', async () => {
  const texts = ['README.md', ...pages.map((page) => `docs/${page}`)].map((file) =>
    readFileSync(join(repository, file), 'utf8'),
  );
  const lines = texts.flatMap((text) =>
    [...text.matchAll(/(?:^|`)npm (start|run [\w-]+) -- ([^`#\n]+)/gm)].map(([, name, args]) => ({
      name,
      args,
    })),
  );
  expect(lines.length).toBeGreaterThan(8);
  for (const { name, args } of lines) {
    const command = name === 'start' ? mainCommand : name.replace('run ', '');
    const entry = commands.find((each) => each.name === command);
    if (entry === undefined) continue;
    const loaded = await entry.load();
    const known = ['json', 'help', ...Object.keys(loaded.options).map(optionName)];
    for (const [, option] of args.matchAll(/--([\w-]+)/g))
      expect(known, `${command} ${args}`).toContain(option);
    expect(() => readOptions(loaded, args.trim().split(/\s+/))).not.toThrow();
  }
});
