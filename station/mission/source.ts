/**
 * One YAML file as text, as data, and as a tree that knows where everything stands. Whatever a file holds, reading it
 * ends soon and in findings: size, nesting and lengths are capped before the tree is built.
 */
import {
  Composer,
  type CST,
  isAlias,
  isMap,
  isScalar,
  isSeq,
  LineCounter,
  type Node,
  type Document,
  Parser,
  visit,
} from 'yaml';
import type { Finding, FindingCode } from '../../protocol/finding.ts';

/** What a mission file may hold. A file of 5,000 parameters is about 1.5 MB. */
export const caps = {
  bytes: 4 << 20,
  /** maps and lists inside each other */
  depth: 40,
  /** entries of one list */
  list: 10_000,
  /** keys of one map: the parser compares each with all before it */
  keys: 1000,
  /** uses of anchors in one file */
  aliases: 100,
  /** findings kept of one file: past these, more of the same helps nobody */
  findings: 500,
  /** findings of one file for which the nearest known name is looked up */
  hints: 100,
};

export type Path = readonly (string | number)[];

export interface Place {
  file: string;
  line: number;
  column: number;
}

export class Source {
  readonly name: string;
  readonly text: string;
  readonly findings: Finding[] = [];
  /** findings met, those past the cap included */
  troubles = 0;
  /** what the file says; undefined when it is not well-formed */
  readonly data: unknown;
  #lines = new LineCounter();
  #document: Document | undefined;

  constructor(name: string, text: string) {
    this.name = name;
    this.text = text;
    try {
      this.#document = this.#parse();
      if (this.#document !== undefined && this.findings.length === 0) {
        this.#checkNames(this.#document);
        const data = this.#document.toJS({ maxAliasCount: caps.aliases });
        // throws when an alias makes the data contain itself
        JSON.stringify(data);
        this.data = data;
      }
    } catch (error) {
      const reason = (error as Error).message.split('\n', 1)[0] as string;
      this.add('yaml-syntax', [], 'aliases that grow without end', `plain YAML: ${shortened(reason)}`);
    }
  }

  /** Adds a finding at the value that `path` leads to, or at the nearest thing around it that is there. */
  add(code: FindingCode, path: Path, found: string, expected: string, hint?: string) {
    this.#push(code, this.place(path), found, expected, hint);
  }

  /** The same, at a key instead of its value. */
  addAtKey(code: FindingCode, path: Path, found: string, expected: string, hint?: string) {
    this.#push(code, this.#keyPlace(path) ?? this.place(path), found, expected, hint);
  }

  /** Adds a finding that stands in another file, which this one brought in. */
  tell(finding: Finding) {
    this.troubles++;
    if (this.findings.length < caps.findings) this.findings.push(finding);
  }

  #push(code: FindingCode, { file, line, column }: Place, found: string, expected: string, hint?: string) {
    this.troubles++;
    if (this.findings.length >= caps.findings) return;
    this.findings.push({ code, file, line, column, found, expected, ...(hint === undefined ? {} : { hint }) });
  }

  /** Where the value stands; for what is missing, where the map or list that lacks it begins. */
  place(path: Path): Place {
    let node: unknown = this.#document?.contents;
    let found = node;
    for (const step of path) {
      node = child(node, step);
      if (node === undefined || node === null) break;
      found = node;
    }
    return this.#at((found as Node | undefined)?.range?.[0] ?? 0);
  }

  /**
   * Where the first character of a text stands: after an opening quote, or in the first line of a block. A finding inside
   * the text counts on from here.
   */
  textPlace(path: Path): Place {
    let node: unknown = this.#document?.contents;
    for (const step of path) node = child(node, step);
    if (!isScalar(node) || !node.range) return this.place(path);
    const start = node.range[0];
    if (node.type === 'QUOTE_DOUBLE' || node.type === 'QUOTE_SINGLE') return this.#at(start + 1);
    if (node.type !== 'BLOCK_LITERAL' && node.type !== 'BLOCK_FOLDED') return this.#at(start);
    const line = this.text.indexOf('\n', start) + 1;
    const indent = /^[ \r\n]*/.exec(this.text.slice(line))?.[0].length ?? 0;
    return this.#at(line + indent);
  }

  #keyPlace(path: Path): Place | undefined {
    let node: unknown = this.#document?.contents;
    for (const step of path.slice(0, -1)) node = child(node, step);
    if (!isMap(node)) return undefined;
    const pair = node.items.find(({ key }) => String(isScalar(key) ? key.value : key) === String(path.at(-1)));
    const offset = (pair?.key as Node | undefined)?.range?.[0];
    return offset === undefined ? undefined : this.#at(offset);
  }

  #at(offset: number): Place {
    const { line, col } = this.#lines.linePos(offset);
    return { file: this.name, line: Math.max(line, 1), column: Math.max(col, 1) };
  }

  #parse(): Document | undefined {
    const tokens = [...new Parser(this.#lines.addNewLine).parse(this.text)];
    const excess = beyondCaps(tokens);
    if (excess !== undefined) {
      this.#push('yaml-syntax', this.#at(excess.offset), excess.found, excess.expected);
      return undefined;
    }
    const options = { prettyErrors: false, logLevel: 'silent' as const, keepSourceTokens: false };
    let first: Document | undefined;
    for (const document of new Composer(options).compose(tokens, true, this.text.length)) {
      if (first !== undefined) {
        this.#push('yaml-syntax', this.#at(document.range[0]), 'a second document', 'one document in the file');
        break;
      }
      first = document as Document;
      for (const { code, message, pos } of [...document.errors, ...document.warnings]) {
        const twice = code === 'DUPLICATE_KEY';
        // a quote that is never closed is missed at the end of the file; the fault is where it opens
        const at =
          code === 'MISSING_CHAR' && message.includes('quote') ? openedAt(document as Document, pos[0]) : pos[0];
        const found = shownText(this.text.slice(at).split('\n', 1)[0] as string);
        const expected = twice ? 'every key once' : `well-formed YAML: ${shortened(message)}`;
        this.#push(twice ? 'duplicate-name' : 'yaml-syntax', this.#at(at), found, expected, yamlHint(code));
      }
    }
    return first;
  }

  /** Names that every JavaScript object carries already would be mistaken for what is built in. */
  #checkNames(document: Document) {
    visit(document, {
      Pair: (_, pair) => {
        const name = isScalar(pair.key) ? pair.key.value : undefined;
        const offset = (pair.key as Node | undefined)?.range?.[0] ?? 0;
        if (typeof name === 'string' && isReserved(name))
          this.#push('bad-value', this.#at(offset), shownText(name), 'a name that is not reserved');
        else if (!isScalar(pair.key))
          this.#push('wrong-shape', this.#at(offset), 'a list or map as key', 'a plain key');
      },
    });
  }
}

const builtIn = new Set([...Object.getOwnPropertyNames(Object.prototype), 'prototype']);

export const isReserved = (name: string): boolean => builtIn.has(name);

function child(node: unknown, step: string | number): unknown {
  if (isAlias(node)) return undefined;
  if (isSeq(node)) return node.items[Number(step)];
  if (!isMap(node)) return undefined;
  return node.items.find(({ key }) => String(isScalar(key) ? key.value : key) === String(step))?.value;
}

/** Where the quoted text that ends at `offset` begins; `offset` itself where there is none. */
function openedAt(document: Document, offset: number): number {
  let begin = offset;
  visit(document, {
    Scalar: (_, { type, range }) => {
      if ((type === 'QUOTE_DOUBLE' || type === 'QUOTE_SINGLE') && range && range[0] < offset && range[1] >= offset)
        begin = range[0];
    },
  });
  return begin;
}

/** What is deeper or longer than allowed. Walks with its own stack, since deep nesting would overflow the other one. */
function beyondCaps(tokens: CST.Token[]): { offset: number; found: string; expected: string } | undefined {
  const stack: [CST.Token | null | undefined, number][] = tokens.map((token) => [token, 0]);
  for (let top = stack.pop(); top !== undefined; top = stack.pop()) {
    const [token, depth] = top;
    if (!token) continue;
    if (token.type === 'document') stack.push([token.value, depth]);
    if (!('items' in token)) continue;
    const isList = token.type === 'block-seq' || (token.type === 'flow-collection' && token.start.source === '[');
    const most = isList ? caps.list : caps.keys;
    const offset = token.offset;
    if (depth >= caps.depth)
      return { offset, found: 'deeper nesting', expected: `at most ${caps.depth} lists and maps inside each other` };
    if (token.items.length > most + 1)
      return { offset, found: `${token.items.length} ${isList ? 'entries' : 'keys'}`, expected: `at most ${most}` };
    for (const { key, value } of token.items) stack.push([key, depth + 1], [value, depth + 1]);
  }
  return undefined;
}

function yamlHint(code: string): string | undefined {
  if (code === 'TAB_AS_INDENT') return 'indent with spaces';
  if (code === 'BAD_SCALAR_START') return 'write the value in quotes';
  return undefined;
}

/** A value in a few words, as a finding shows it. */
export function shown(value: unknown): string {
  if (value === undefined || value === null) return 'nothing';
  if (typeof value === 'string') return shownText(value);
  if (Array.isArray(value)) return `a list of ${value.length}`;
  if (typeof value === 'object') return 'a map';
  return String(value);
}

/** Text in quotes, short, and with nothing in it that a terminal would obey. */
export function shownText(text: string): string {
  return `"${shortened(text.replace(/\p{C}/gu, '?'))}"`;
}

const shortened = (text: string): string => (text.length > 60 ? `${text.slice(0, 57)}...` : text);
