import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    include: ['{protocol,station,replay,display,test}/**/*.test.ts'],
    globalSetup: 'test/support/run-folder.ts',
    testTimeout: 60_000,
    hookTimeout: 60_000,
    pool: 'forks',
    // one more than the two cores these are made for: flights and pages wait more than they compute
    maxWorkers: 3,
  },
});
