/** The tests that are to notice a mutation of the limit and alarm modules: quick ones, since each is run many times. */
import { defineConfig } from 'vitest/config';
import { BaseSequencer, type TestSpecification } from 'vitest/node';

/** A mutation is done with at the first test that notices: those of single parts first, those of flights after them. */
class QuickFirst extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const rank = ({ moduleId }: TestSpecification) =>
      moduleId.includes('/prove/') ? 2 : moduleId.includes('/kinds/') ? 1 : 0;
    return files.toSorted((a, b) => rank(a) - rank(b));
  }
}

export default defineConfig({
  test: {
    include: [
      'station/check/*.test.ts',
      'station/check/kinds/{automation,by-phase,card-stop,depends,level,logic,validity}.test.ts',
      'station/alarm/*.test.ts',
      'test/prove/walk.test.ts',
    ],
    testTimeout: 60_000,
    // modules are loaded once a run, not once a file: most of the time would go into that
    isolate: false,
    sequence: { sequencer: QuickFirst },
  },
});
