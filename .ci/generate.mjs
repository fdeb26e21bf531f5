// Writes protocol/generated/ from the .proto files and station/derive/generated/ from the grammar.
// Run by the set-up when a source is newer than what it made.
import { execFileSync } from 'node:child_process';
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = join(dirname(fileURLToPath(import.meta.url)), '..');
const require = createRequire(import.meta.url);
const cli = dirname(require.resolve('protobufjs-cli/package.json'));

function protobuf() {
  const out = join(root, 'protocol/generated');
  mkdirSync(out, { recursive: true });
  const js = join(out, 'wire.js');
  const protos = ['downlink', 'flight-log', 'display'].map((name) => join(root, `protocol/${name}.proto`));
  const run = (tool, ...args) => execFileSync(process.execPath, [join(cli, 'bin', tool), ...args], { cwd: root });
  run(
    'pbjs',
    '-t',
    'static-module',
    '-w',
    'es6',
    '--es6',
    '--no-create',
    '--no-verify',
    '--no-convert',
    '--no-service',
    '--no-delimited',
    '--force-number',
    '-p',
    join(root, 'protocol'),
    '-o',
    js,
    ...protos,
  );
  run('pbts', '-o', join(out, 'wire.d.ts'), js);
  const head = '// Written by .ci/generate.mjs with protobufjs-cli from protocol/*.proto; never edited.\n';
  for (const name of ['wire.js', 'wire.d.ts']) {
    const file = join(out, name);
    let text = readFileSync(file, 'utf8');
    text = text.replaceAll('"protobufjs/minimal"', '"protobufjs/minimal.js"');
    writeFileSync(file, head + text);
  }
}

async function grammar() {
  const source = join(root, 'station/derive/formula.peggy');
  if (!existsSync(source)) return;
  const { default: peggy } = await import('peggy');
  const out = join(root, 'station/derive/generated');
  mkdirSync(out, { recursive: true });
  const code = peggy.generate(readFileSync(source, 'utf8'), {
    output: 'source',
    format: 'es',
    grammarSource: 'formula.peggy',
  });
  writeFileSync(
    join(out, 'formula-parser.js'),
    `// Written by .ci/generate.mjs with peggy from formula.peggy; never edited.\n${code}`,
  );
  writeFileSync(
    join(out, 'formula-parser.d.ts'),
    '// Written by .ci/generate.mjs; never edited.\n' +
      'export declare function parse(text: string, options?: Record<string, unknown>): unknown;\n' +
      'export declare class SyntaxError extends Error {\n' +
      '  location: { start: { offset: number; line: number; column: number }; end: { offset: number; line: number; column: number } };\n' +
      '  expected: unknown[] | null;\n  found: string | null;\n}\n',
  );
}

protobuf();
await grammar();
