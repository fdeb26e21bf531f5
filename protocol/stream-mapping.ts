/**
 * How a mission reads a stream of another make: the `.proto` files that describe it, and which of its fields feed which
 * parameters. A message of such a stream is whole in itself: one datagram, one size-delimited message, one WebSocket
 * message, without an envelope or a checksum of ours.
 */
import type { Microseconds } from './time.ts';

/** One `.proto` file as written. Imports name files by this name. */
export interface ProtoFile {
  name: string;
  text: string;
}

/** Where something stands in the mission folder, for findings. Never part of the baseline id. */
export interface MappingPlace {
  file: string;
  line: number;
  column: number;
}

/** A name or a field path, as written. */
export interface Written {
  text: string;
  place?: MappingPlace;
}

export type TimeUnit = 's' | 'ms' | 'us' | 'ns';

/** A field that holds a time: a number, or a google.protobuf.Timestamp (which has no unit of its own choice). */
export interface MappedTime {
  field: Written;
  unit?: TimeUnit;
  /** what the number counts from: the Unix epoch, power-up, or the time of the message that holds it */
  from: 'unix' | 'power-up' | 'message';
  /** for `power-up`: aircraft time of power-up */
  epoch?: Microseconds;
}

export interface StreamMapping {
  /** the file that was named first, then what it imports */
  protos: ProtoFile[];
  /** full name of the message that travels */
  message: Written;
  time: MappedTime;
  /** counts the messages; where it is absent, gaps and doubles cannot be told */
  sequence?: {
    field: Written;
    /** the count after which it begins again at 0; absent = as far as the field goes */
    wraps?: number;
  };
  /** messages in which this field has another value belong to another stream */
  mustEqual?: { field: Written; value: string | number | boolean };
  softwareId?: Written;
  configurationId?: Written;
  /** rate groups whose samples bring a time of their own */
  groups: { group: string; time: MappedTime }[];
  /** the field of each received parameter, but those that are bits of another's */
  parameters: { parameter: string; field: Written }[];
}
