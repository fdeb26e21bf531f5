/**
 * Text of people and missions as it may be shown: what is not seen, but alters what is, is written out. Control characters
 * steer a terminal; marks of direction (Unicode Standard Annex 9, section 2) turn words round, so that what is read is not
 * what was recorded; the rest has no width and makes two texts look like one.
 */
const unseen =
  /[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f-\u009f]|[\u00ad\u061c\u180e\u200b\u200e\u200f\u2028-\u202e\u2060-\u206f\ufeff\ufff9-\ufffb]|[\u{e0000}-\u{e007f}]|[\ud800-\udfff]/gu;

/** Tabs and line ends stay; a control character becomes U+FFFD, any other that is not seen its code point in brackets. */
export const visible = (text: string): string =>
  text.replace(unseen, (one) => {
    const code = one.codePointAt(0) as number;
    const isControl = code < 0xa0 || (code >= 0xd800 && code < 0xe000);
    return isControl ? '\ufffd' : `[U+${code.toString(16).toUpperCase().padStart(4, '0')}]`;
  });
