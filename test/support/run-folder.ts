/**
 * Everything a run of the tests leaves in the folder for temporary files is gone when the run ends: test processes are
 * ended by force, and clean up nothing.
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

export default function setUp(): () => void {
  const folder = mkdtempSync(join(tmpdir(), 'groundchase-run-'));
  // what the test processes are given
  process.env['TMPDIR'] = folder;
  return () => rmSync(folder, { recursive: true, force: true });
}
