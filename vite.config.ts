import { defineConfig, type Plugin } from 'vite';

interface Node {
  type: string;
  start: number;
  end: number;
  [key: string]: unknown;
}

const templates = ['html', 'css', 'svg'];

/** Every part of a template that stands in a file as text, by place. */
function textsOf(node: unknown, found: Node[] = []): Node[] {
  if (Array.isArray(node)) for (const one of node) textsOf(one, found);
  else if (typeof node === 'object' && node !== null) {
    const { type, tag, quasi } = node as { type?: string; tag?: { name?: string }; quasi?: { quasis: Node[] } };
    if (type === 'TaggedTemplateExpression' && templates.includes(tag?.name ?? ''))
      found.push(...(quasi?.quasis ?? []));
    for (const value of Object.values(node)) textsOf(value, found);
  }
  return found;
}

/**
 * The line breaks and indentation that templates of elements and styles have for their reader are one space to a browser, as
 * nothing here keeps white space: they need not be sent.
 */
const shortTemplates = (): Plugin => ({
  name: 'short-templates',
  apply: 'build',
  enforce: 'post',
  transform(code, id) {
    if (!/\/display\/.*\.ts$/.test(id)) return null;
    const places = textsOf(this.parse(code)).sort((a, b) => b.start - a.start);
    let short = code;
    for (const { start, end } of places)
      short = short.slice(0, start) + short.slice(start, end).replace(/\s*\n\s*/g, ' ') + short.slice(end);
    return { code: short, map: null };
  },
});

/** The web display: one page, nothing fetched from outside, nothing inlined that the page's content policy would refuse. */
export default defineConfig({
  root: 'display',
  base: './',
  plugins: [shortTemplates()],
  build: {
    outDir: 'dist',
    emptyOutDir: true,
    target: 'es2023',
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    chunkSizeWarningLimit: 900,
  },
});
