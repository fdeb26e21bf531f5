/** What the limits could not see: "none recorded" of a limit that was blind says nothing of the aircraft. */
import type { FlightReport, LimitSight } from '../../protocol/report.ts';
import type { Block, Cell } from './document.ts';
import { limitText } from './parts.ts';
import { count, percentText, spanText } from './words.ts';

/** Share of the time it counted in which a limit may be blind without being named at a glance. */
const SMALL = 0.01;
/** Rows that are printed; and the share below which a limit has none, but is counted. */
export const BLIND_SHOWN = 60;
const HARDLY = 0.001;

const blindShare = ({ seen, unseen }: LimitSight): number => (seen + unseen > 0 ? unseen / (seen + unseen) : 0);

/**
 * Not in force in this flight: not once compared, and known not to count for all but a moment, such as the first samples, of
 * which no phase is known yet.
 */
const neverCounted = ({ seen, unseen, off }: LimitSight): boolean => seen === 0 && off > 0 && unseen <= SMALL * off;

/** Not once compared, though for all that is known it counted. */
export const neverSaw = ({ sight }: FlightReport): LimitSight[] =>
  sight.filter((one) => one.seen === 0 && one.unseen > 0 && !neverCounted(one));

/** Compared, but not for a part of its time that matters. */
export const sawInPart = ({ sight }: FlightReport): LimitSight[] =>
  sight.filter((one) => one.seen > 0 && blindShare(one) > SMALL).sort((a, b) => blindShare(b) - blindShare(a));

export function sightBlocks(report: FlightReport): Block[] {
  const blind = report.sight
    .filter((one) => one.unseen > 0 && !neverCounted(one))
    .sort((a, b) => blindShare(b) - blindShare(a) || b.unseen - a.unseen);
  const listed = blind.filter((one) => blindShare(one) > HARDLY).slice(0, BLIND_SHOWN);
  const rest = blind.slice(listed.length);
  const idle = report.sight.filter(neverCounted);
  const blocks: Block[] = [{ kind: 'heading', text: 'What the limits could not see' }];
  if (listed.length > 0) {
    blocks.push({
      kind: 'table',
      columns: [
        { head: 'limit', share: 46 },
        { head: 'compared', align: 'end', share: 18 },
        { head: 'cannot tell', align: 'end', share: 18 },
        { head: 'not in force', align: 'end', share: 18 },
        { head: 'blind', align: 'end', share: 14 },
      ],
      rows: listed.map((one): Cell[] => [
        { text: limitText(report, one.limit), strong: blindShare(one) > SMALL },
        one.seen > 0 ? spanText(one.seen) : { text: 'never', strong: true },
        spanText(one.unseen),
        spanText(one.off),
        { text: percentText(blindShare(one), 2), strong: blindShare(one) > SMALL },
      ]),
    });
  } else if (!report.sight.some(({ seen, off }) => seen + off > 0)) {
    const none = report.sight.length === 0 ? 'The mission declares no limits' : 'No sample came';
    blocks.push({ kind: 'paragraph', text: `${none}: nothing was compared.` });
  } else if (rest.length === 0) {
    blocks.push({ kind: 'paragraph', text: 'Every limit was compared for all of the time it was in force.' });
  }
  if (rest.length > 0) {
    const longest = Math.max(...rest.map(({ unseen }) => unseen));
    const text = `${count(rest.length, listed.length > 0 ? 'other limit' : 'limit')} could not tell for ${spanText(longest)} at most, ${percentText(blindShare(rest[0] as LimitSight), 2)} of the time in force or less.`;
    blocks.push({ kind: 'paragraph', text });
  }
  if (idle.length > 0) {
    const moment = Math.max(...idle.map(({ unseen }) => unseen));
    const but = moment > 0 ? ` (for ${spanText(moment)} at most it could not be told whether)` : '';
    const text = `Never in force${but}, and so compared with nothing: ${idle.map(({ limit }) => limitText(report, limit)).join('; ')}.`;
    blocks.push({ kind: 'paragraph', text });
  }
  return blocks;
}
