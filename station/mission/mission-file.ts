/** mission.yaml: the aircraft, who is in the room, and the day's words. */
import type { z } from 'zod';
import type { Mission } from '../../protocol/mission.ts';
import { type BriefedWords, type WordList, wordTroubles } from '../../protocol/stop-call.ts';
import { Names } from './names.ts';
import type * as schema from './schema.ts';
import type { Item } from './shape.ts';
import { type Source, shown } from './source.ts';

type MissionText = z.infer<typeof schema.missionFile>;
type WordsText = MissionText['words'];
type Head = Pick<Mission, 'name' | 'stream' | 'aircraft' | 'receivers' | 'people' | 'mayCallClass2' | 'words'>;

export function readMissionFile(source: Source, { value, whole }: Item<MissionText>): Head {
  const troubles = source.troubles;
  const receivers = new Names<true>('receiver');
  for (const [i, { name }] of (value.receivers ?? []).entries())
    receivers.declare(source, ['receivers', i, 'name'], name, true);
  const people = new Names<true>('person');
  const ids = new Map<string, string>();
  for (const [i, { id }] of (value.people ?? []).entries()) {
    const path = ['people', i, 'id'];
    people.declare(source, path, id, true);
    const first = ids.get(id.toLowerCase()) ?? id;
    if (first !== id)
      source.add('duplicate-name', path, shown(id), `an id that differs from ${first} in more than case`);
    ids.set(id.toLowerCase(), first);
  }
  if (value.words) checkWords(source, value.words, value.aircraft?.['termination system']);
  if (!whole || source.troubles > troubles) return nobody;
  const { name, stream, aircraft, 'may call class 2': mayCallClass2, ...rest } = value as MissionText;
  const terminationSystem = aircraft['termination system'];
  return {
    name,
    stream,
    aircraft: {
      name: aircraft.name,
      softwareId: aircraft['software id'],
      configurationId: aircraft['configuration id'],
      ...(terminationSystem !== undefined && { terminationSystem }),
    },
    receivers: rest.receivers,
    people: rest.people,
    ...(mayCallClass2 && { mayCallClass2 }),
    words: briefed(source, rest.words),
  };
}

const keyOf: Record<WordList, keyof WordsText> = {
  class1: 'class 1',
  class2: 'class 2',
  start: 'start',
  range: 'range',
};

function checkWords(source: Source, words: WordsText, hasTermination: boolean | undefined): void {
  const lists = {
    class1: words['class 1'] ?? [],
    class2: words['class 2'] ?? [],
    start: words.start,
    range: words.range,
  };
  for (const { list, index, code, expected } of wordTroubles(lists, hasTermination))
    source.add(code, ['words', keyOf[list], index], shown(lists[list]?.[index]), expected);
}

function briefed(source: Source, { start, range, 'start phases': startPhases, ...classes }: WordsText): BriefedWords {
  const places = startPhases?.map((_, i) => [`start phases ${i}`, source.place(['words', 'start phases', i])]);
  return {
    class1: classes['class 1'],
    class2: classes['class 2'],
    ...(start && { start }),
    ...(startPhases && { startPhases }),
    ...(range && { range }),
    ...(places && { places: Object.fromEntries(places) }),
  };
}

/** Stands in while the file is not whole; such a mission is never put in force. */
const nobody: Head = {
  name: '',
  stream: 'unknown',
  aircraft: { name: '', softwareId: '', configurationId: '' },
  receivers: [],
  people: [],
  words: { class1: [], class2: [] },
};
