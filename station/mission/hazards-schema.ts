/** How hazards.yaml is written. */
import { z } from 'zod';
import { severities } from '../../protocol/procedure.ts';
import { map, position, shortId, words } from './written.ts';

const idList = z.array(shortId).max(60, 'at most 60').optional();

const mitigation = map({
  id: shortId.describe('unique in the mission'),
  text: words(200).describe('what is done against the hazard'),
  limits: idList.describe('limits that watch for it'),
  checklists: idList.describe('checklists that people then tick'),
  cards: idList.describe('test cards that are built for it'),
  procedure: words(200).optional().describe('a procedure outside this tool, by name and section'),
});

export const hazard = map({
  id: shortId,
  title: words(120).describe('what may happen'),
  severity: z.enum(severities).describe('how bad that would be'),
  owner: position.describe('who answers for it in the room'),
  // an empty list is a hazard without a mitigation, and told as that
  mitigations: z.array(mitigation).max(40, 'at most 40').describe('what is done against it'),
});

export const hazardsFile = map({
  hazards: z.array(hazard).describe('what the flight may do harm by, and its controls'),
});
