/** The little of pngjs that the browser tests use. */
declare module 'pngjs' {
  export class PNG {
    width: number;
    height: number;
    data: Uint8Array;
    static sync: { read(bytes: Uint8Array): PNG };
  }
}
