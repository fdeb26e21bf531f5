import { describe, expect, it } from 'vitest';
import type { Card, TestPoint } from '../../protocol/card.ts';
import type { Mission } from '../../protocol/mission.ts';
import type { Checklist, Sequence } from '../../protocol/procedure.ts';
import type { ReadinessPlan } from '../../protocol/readiness.ts';
import { SECOND } from '../../protocol/time.ts';
import { demonstrationMission } from '../../test/support/rehearsal.ts';
import { levelLimit, mission, parameter } from '../../test/support/tiny-mission.ts';
import { briefSheet } from './brief-sheet.ts';
import { stopSheet } from './stop-sheet.ts';

/** A mission with one of everything; `text` stands wherever people write something. */
function everything(text: string): Mission {
  const point: Card['points'][number] = {
    ...{ id: 'P1', title: text, card: 'C1', parent: 'P0', family: 'F', step: 80 },
    configuration: [{ text, when: 'A' }],
    tolerance: [{ parameter: 'A', target: 80, below: 3, above: 3 }],
    dwell: 2 * SECOND,
    data: [{ parameter: 'A', target: 80, below: 5, above: 2.5 }],
    mayBeOutside: 0.05,
    hold: 10 * SECOND,
    manoeuvre: text,
    recordFrom: 'on condition',
    recover: text,
    stops: ['a-stop', 'a-warning'],
    required: ['A'],
    dropout: 300_000,
    repeatRule: text,
    predicted: [{ parameter: 'A', statistic: 'mean', value: 71, scatter: 3 }],
  };
  const plan: ReadinessPlan = {
    notices: [{ id: 'n', title: text, text }],
    watch: [{ position: 'engine', limits: ['a-stop'] }],
    weight: {
      items: [
        { id: 'empty', name: text, massKg: 1000, armM: 2.5, lateralM: 0 },
        { id: 'crew', name: text, massKg: 200, armM: 2, lateralM: 0.1 },
      ],
      tanks: [{ id: 't', name: text, parameter: 'A', capacityKg: 100, armM: 3, lateralM: 0 }],
      envelope: [
        [2.4, 1100],
        [2.6, 1300],
      ],
      lateral: 0.05,
      planned: [{ name: text, tanks: { t: 100 } }],
      knockOffKg: 30,
    },
    releases: [],
  };
  const checklists: Checklist[] = [
    { id: 'v', title: text, shown: 'voice lost', steps: [text] },
    { id: 'l', title: text, shown: 'link lost', after: 2, steps: [text] },
    { id: 'c', title: 'Chips', shown: 'condition', when: 'A', steps: [text] },
  ];
  const sequence: Sequence = {
    ...{ id: 's', title: text, begins: 'A', measures: [] },
    steps: [{ name: text, when: 'A', within: 3 * SECOND }],
    gate: { text, when: 'A' },
  };
  return mission({
    baselineId: 'ab345d735e792b4f646dab6e4dc06c7d',
    name: text,
    aircraft: { name: text, softwareId: text, configurationId: text },
    receivers: [{ name: text }],
    people: [{ id: 'x', name: text, position: 'engine' }],
    words: { class1: [text], class2: [text], start: [text], range: [text] },
    parameters: [parameter('A', 'main', { name: text, unit: 'kt' })],
    limits: [
      levelLimit('a-stop', 'A', { above: { stop: 95.25 }, stopClass: 2, text, firstAction: text, source: text }),
      levelLimit('a-warning', 'A', { below: { caution: 80, warning: 1234567.5 }, persistence: 500_000, text }),
      levelLimit('a-else', 'A', { above: { advisory: 1 }, text: 'told of nowhere else' }),
    ],
    cards: [{ id: 'C1', title: text, points: [point] }],
    anomalies: [{ text, source: text }],
    readiness: plan,
    sequences: [sequence],
    checklists,
    hazards: [
      {
        ...{ id: 'h', title: text, severity: 'critical', owner: 'engine' },
        mitigations: [{ id: 'm', text, limits: ['a-stop'], checklists: ['v'], cards: ['C1'], procedure: text }],
      },
    ],
  });
}

const both = [
  ['brief', briefSheet],
  ['stop', stopSheet],
] as const;

/** What a person reads. */
const read = (html: string): string =>
  html
    .replace(/<style>[^]*?<\/style>/, '')
    .replace(/<[^>]+>/g, ' ')
    .replace(/&#(\d+);/g, (_, code: string) => String.fromCharCode(Number(code)))
    .replace(/[\s\u00a0]+/g, ' ');

describe.each(both)('the %s sheet', (_, make) => {
  it('bears the id of the screens, and needs nothing from outside', () => {
    const { html, policy } = make(everything('plain'));
    expect(read(html)).toContain('Sheet AB34-5D73');
    expect(html).not.toMatch(/<script|<link|<img|\bsrc=|\bon\w+=|url\(|https?:/i);
    expect(policy).toMatch(/^default-src 'none'; style-src 'sha256-[A-Za-z0-9+/=]+'/);
    expect(html.match(/<style>/g)).toHaveLength(1);
  });

  it('says words of the mission as words, whatever they spell', () => {
    const hostile = `</td><script>alert(1)</script><img src=x onerror="alert('2')">\`&amp;{}<!--`;
    const { html } = make(everything(hostile));
    const plain = make(everything('plain')).html;
    const tags = (of: string) => of.match(/<[^>]*>/g);
    // the same tags in the same order: no text has become one
    expect(tags(html)).toEqual(tags(plain));
    expect(read(html)).toContain(hostile);
    expect(make(everything('a\u0007b\u009bc')).html).not.toMatch(/[\u0007\u009b]/);
  });

  it('has the words of each class with their meaning, the one that is always known, and the locked one', () => {
    const of = everything('plain');
    const words = { class1: ['KNOCK IT OFF'], class2: ['STOP TEST'], start: ['ABORT START'], range: ['TERMINATE'] };
    const text = read(make({ ...of, words }).html);
    expect(text).toMatch(/Class 1 KNOCK IT OFF ABORT ABORT ABORT Break off: safety/);
    expect(text).toMatch(/Class 2 STOP TEST Stop this point/);
    expect(text).toMatch(/Start ABORT START Stop the start/);
    expect(text).toMatch(/Locked: TERMINATE belongs to the range/);
    // briefed already, written otherwise: not said twice
    const briefed = read(make({ ...of, words: { ...words, class1: ['Abort, abort, abort!'] } }).html);
    expect(briefed).not.toContain('ABORT ABORT ABORT');
    const short = read(make({ ...of, words: { class1: ['A'], class2: ['B'] } }).html);
    expect(short).not.toMatch(/Locked:|Stop the start/);
  });

  it('says when a stop criterion is met, and when one that cannot tell is due', () => {
    const text = read(make(everything('plain')).html);
    expect(text).toContain('met at its stop level, and at its warning level too on the points that name it');
    expect(text).toContain('One that cannot tell for 2 s, from on condition until recovered: class 2, no data.');
  });

  it('says who may call class 2, those briefed for the day among them', () => {
    const of = everything('plain');
    expect(read(make(of).html)).toContain('Class 2: pilot, test director, test conductor, instrumentation;');
    const briefed = read(make({ ...of, mayCallClass2: ['engine'] }).html);
    expect(briefed).toContain('Class 2: pilot, test director, test conductor, engine, instrumentation;');
  });
});

describe('the stop sheet', () => {
  it('has every stop criterion with its exact value, class, first action and watcher, and no other limit', () => {
    const text = read(stopSheet(everything('plain')).html);
    expect(text).toContain('plain above: stop 95.25 kt plain 2 engine');
    expect(text).toContain('plain below: caution 80, warning 1234567.5 kt; for 0.5 s say it 1 engine');
    expect(text).not.toContain('told of nowhere else');
  });

  it('names the points of a criterion, where not every point has it', () => {
    const of = everything('plain');
    const [card] = of.cards as [Card];
    const [point] = card.points as [TestPoint];
    const points = ['P1', 'P2', 'P3'].map((id) => ({ ...point, id, stops: id === 'P3' ? ['a-warning'] : ['a-stop'] }));
    const text = read(stopSheet({ ...of, cards: [{ ...card, points }] }).html);
    expect(text).toContain('plain not of P3 above: stop 95.25 kt');
    expect(text).toContain('plain of P3 below: caution 80');
    expect(read(stopSheet({ ...of, cards: [] }).html)).toContain('plain of no point above: stop 95.25 kt');
  });

  it('has the checklists of lost voice and lost link, and lines to fill in', () => {
    const { html } = stopSheet(everything('plain'));
    expect(read(html)).toContain('(when nothing was received for 2 s)');
    expect(read(html)).not.toContain('Chips');
    expect(html.match(/class="blank"/g)).toHaveLength(4);
  });

  it('says where nothing is declared that nothing is', () => {
    const text = read(stopSheet(mission()).html);
    expect(text).toContain('None is declared: every warning is reported');
    expect(text).toContain('No checklist is declared');
  });
});

describe('the brief sheet', () => {
  it('has the point with its bands, stop criteria and predictions', () => {
    const text = read(briefSheet(everything('plain')).html);
    expect(text).toContain('Point P1: plain (step 80 of F)');
    expect(text).toContain('plain (A) 80 ± 3 kt all of it for 2 s');
    expect(text).toContain('plain (A) 80, from 75 to 82.5 kt outside at most 5 % of the record');
    expect(text).toContain('plain: above: stop 95.25 kt (class 2)');
    expect(text).toContain('mean of plain (A): 71 ± 3 kt');
    expect(text).toContain('dropout at most 0.3 s in all');
  });

  it('adds up masses and moments of the plan', () => {
    // (1000 x 2.5 + 200 x 2 + 100 x 3) / 1300 = 3200 / 1300
    expect(read(briefSheet(everything('plain')).html)).toContain('plain 100 1300 2.462');
    expect(read(briefSheet(everything('plain')).html)).toContain('Knock-off fuel 30 kg');
  });

  it('has every limit, hazard, notice, watch, sequence and checklist', () => {
    const text = read(briefSheet(everything('plain')).html);
    expect(text).toContain('told of nowhere else');
    expect(text).toContain('held up by limit plain; checklist plain; card plain; plain');
    expect(text).toContain('1. plain, within 3 s');
    expect(text).toContain('before it may begin: plain');
    expect(text).toContain('Chips Shown while its condition holds.');
  });

  it('is whole for the demonstration: every id of limits, points and hazards is told of', () => {
    const of = demonstrationMission();
    const text = read(briefSheet(of).html);
    for (const { id } of of.limits.filter((limit) => !limit.id.includes('.'))) expect(text, id).toContain(id);
    for (const { points } of of.cards ?? []) for (const { id } of points) expect(text).toContain(`Point ${id}:`);
    for (const { title } of of.hazards ?? []) expect(text).toContain(title);
    for (const { name } of of.people) expect(text).toContain(name);
    for (const { title } of of.checklists ?? []) expect(text).toContain(title);
    expect(text).toContain(of.baselineId);
  });

  it('is short for a mission that declares little', () => {
    const text = read(briefSheet(mission()).html);
    expect(text).toContain('No cards are declared');
    expect(text).not.toMatch(/Hazards|Sequences|Checklists|Weight/);
  });
});
