/** `groundchase remove`: the only thing in this product that removes a recording. */
import { removeRecording } from '../../replay/recording/hold.ts';
import { RecordingError } from '../../replay/recording/open.ts';
import { type Command, exitCode, jsonOption, print, printJson, Trouble } from './command.ts';

export const command: Command = {
  name: 'remove',
  summary: 'remove a recording; one that is held as evidence or being written is refused',
  usage: 'FILE',
  details: 'Tells how many bytes were removed, those of a journal beside it included. Nothing brings them back.',
  options: [jsonOption],
  async run(args) {
    try {
      const bytes = removeRecording(args.operand);
      if (args.flag('json')) printJson({ file: args.operand, bytes });
      else print(`removed: ${args.operand}, ${bytes} bytes`);
      return exitCode.success;
    } catch (error) {
      throw error instanceof RecordingError ? new Trouble(error.message) : error;
    }
  },
};
