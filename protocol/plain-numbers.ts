/**
 * Makes protobufjs carry 64-bit integers as plain numbers. Must be imported before generated code, whose default values
 * are made when it loads. Our times are integer microseconds below 2^53, which numbers carry exactly; larger values are
 * refused by `isTime`.
 */
import protobuf from 'protobufjs/minimal.js';

protobuf.util.Long = undefined as unknown as typeof protobuf.util.Long;
protobuf.configure();
// messages inside each other; ours go three deep, streams of another make as deep as a field path may
protobuf.Reader.recursionLimit = 32;
