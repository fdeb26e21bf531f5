/** mission.yaml: the aircraft, who is in the room, and the day's words. */
import type { z } from 'zod';
import type { Mission } from '../../protocol/mission.ts';
import { Names } from './names.ts';
import type * as schema from './schema.ts';
import type { Item } from './shape.ts';
import { type Source, shown } from './source.ts';

type MissionText = z.infer<typeof schema.missionFile>;
type Head = Pick<Mission, 'name' | 'stream' | 'aircraft' | 'receivers' | 'people' | 'words'>;

/** Words are compared as they are heard: case and spacing do not matter. */
const heard = (word: string): string => word.trim().replace(/\s+/g, ' ').toUpperCase();

export function readMissionFile(source: Source, { value, whole }: Item<MissionText>): Head {
  const troubles = source.troubles;
  const receivers = new Names<true>('receiver');
  for (const [i, { name }] of (value.receivers ?? []).entries())
    receivers.declare(source, ['receivers', i, 'name'], name, true);
  const people = new Names<true>('person');
  for (const [i, { id }] of (value.people ?? []).entries()) people.declare(source, ['people', i, 'id'], id, true);
  const words = new Map<string, string>();
  for (const key of ['class 1', 'class 2'] as const)
    for (const [i, word] of (value.words?.[key] ?? []).entries()) {
      const before = words.get(heard(word));
      if (before !== undefined)
        source.add('duplicate-name', ['words', key, i], shown(word), `a word briefed once; it is in ${before} already`);
      else words.set(heard(word), key);
    }
  if (!whole || source.troubles > troubles) return nobody;
  const { name, stream, aircraft, ...rest } = value as MissionText;
  return {
    name,
    stream,
    aircraft: {
      name: aircraft.name,
      softwareId: aircraft['software id'],
      configurationId: aircraft['configuration id'],
    },
    receivers: rest.receivers,
    people: rest.people,
    words: { class1: rest.words['class 1'], class2: rest.words['class 2'] },
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
