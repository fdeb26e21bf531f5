/** The tests that are to notice a mutation of the limit and alarm modules: quick ones, since each is run many times. */
import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    include: [
      'station/check/*.test.ts',
      'station/check/kinds/{automation,by-phase,card-stop,depends,level,logic,validity}.test.ts',
      'station/alarm/*.test.ts',
      'test/prove/walk.test.ts',
    ],
    testTimeout: 60_000,
  },
});
