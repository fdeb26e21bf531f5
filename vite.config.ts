import { defineConfig } from 'vite';

/** The web display: one page, nothing fetched from outside, nothing inlined that the page's content policy would refuse. */
export default defineConfig({
  root: 'display',
  base: './',
  build: {
    outDir: 'dist',
    emptyOutDir: true,
    target: 'es2023',
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    chunkSizeWarningLimit: 900,
  },
});
