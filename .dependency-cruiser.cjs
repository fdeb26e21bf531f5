const stages = 'decode|select|convert|derive|check|alarm|conduct';
const shell = 'receive|record|publish|access|mission|serve';
const pure = `^(protocol/|station/(stage|stages|pipeline|listener)\\.ts$|station/(compute|report|${stages})/|display/(state|geometry)/)`;
const forbid = (name, comment, from, to) => ({ name, comment, severity: 'error', from, to });
module.exports = {
  forbidden: [
    forbid('no-cycle', 'two files that need each other are one file, or need a third', {}, { circular: true }),
    forbid('protocol-is-the-floor', '', { path: '^protocol/' }, { path: '^(station|replay|display)/' }),
    forbid(
      'generated-through-wire',
      '',
      { pathNot: '^protocol/(wire\\.ts$|generated/)' },
      { path: '^protocol/generated/' },
    ),
    forbid(
      'replay-on-protocol',
      'the fold comes in as an argument',
      { path: '^replay/' },
      { path: '^(station|display)/' },
    ),
    forbid(
      'rehearsal-stands-alone',
      'it is the oracle: no formula and no code shared with what it tests',
      { path: '^replay/rehearsal/' },
      { path: '^replay/', pathNot: '^replay/rehearsal/' },
    ),
    forbid('display-on-protocol', '', { path: '^display/' }, { path: '^(station|replay)/' }),
    forbid('nobody-on-display', '', { pathNot: '^(display|test)/' }, { path: '^display/' }),
    forbid(
      'nobody-on-test',
      'but unit tests may use test/support',
      { pathNot: ['^test/', '\\.test\\.ts$'] },
      { path: '^test/' },
    ),
    forbid(
      'unit-tests-use-support-only',
      '',
      { path: '\\.test\\.ts$', pathNot: '^test/' },
      { path: '^test/', pathNot: '^test/support/' },
    ),
    forbid(
      'compute-on-protocol',
      '',
      { path: '^station/compute/' },
      { path: '^(station|replay)/', pathNot: '^station/compute/' },
    ),
    forbid(
      'stage-knows-no-stage',
      '',
      { path: `^station/(${stages})/` },
      { path: '^(station|replay)/', pathNot: ['^station/$1/', '^station/(stage|listener)\\.ts$', '^station/compute/'] },
    ),
    forbid(
      'report-on-protocol',
      'what is reported is computed from what the fold tells a listener',
      { path: '^station/report/' },
      { path: '^(station|replay)/', pathNot: ['^station/report/', '^station/listener\\.ts$', '^station/compute/'] },
    ),
    forbid(
      'stages-through-pipeline',
      '',
      { path: '^station/', pathNot: [`^station/(${stages})/`, '^station/(pipeline|stages)\\.ts$'] },
      { path: `^station/(${stages})/` },
    ),
    forbid(
      'shell-rooms-apart',
      'station.ts joins them',
      { path: `^station/(${shell})/` },
      { path: `^station/(${shell}|command)/`, pathNot: '^station/$1/' },
    ),
    forbid('shell-below-station', '', { path: `^station/(${shell})/` }, { path: '^station/station\\.ts$' }),
    forbid(
      'fold-only-where-needed',
      'only mission (to compile a baseline), station.ts and commands hold the pipeline',
      { path: '^station/(receive|record|publish|access|serve)/' },
      { path: '^station/(pipeline|stages)\\.ts$' },
    ),
    forbid('pure-no-node', '', { path: pure, pathNot: '\\.test\\.ts$' }, { dependencyTypes: ['core'] }),
    forbid(
      'display-state-below',
      '',
      { path: '^display/(state|geometry)/' },
      { path: '^display/', pathNot: '^display/$1/' },
    ),
    forbid(
      'link-feeds-state',
      '',
      { path: '^display/link/' },
      { path: '^display/', pathNot: '^display/(link|state)/' },
    ),
    forbid(
      'link-from-main',
      'elements raise DOM events; main.ts hands them to the link',
      { path: '^display/', pathNot: '^display/(link/|main\\.ts$)' },
      { path: '^display/link/' },
    ),
    forbid(
      'instruments-below-elements',
      '',
      { path: '^display/instruments/' },
      { path: '^display/(elements|pages|link)/' },
    ),
    forbid(
      'lit-in-elements',
      '',
      { path: '^display/', pathNot: '^display/(elements|pages)/' },
      { path: '(^|node_modules/)(@lit/[^/]+|lit)(/|$)' },
    ),
    forbid(
      'pixi-in-instruments',
      '',
      { path: '^display/', pathNot: '^display/instruments/' },
      { path: '(^|node_modules/)pixi\\.js(/|$)' },
    ),
  ],
  options: { parser: 'swc', doNotFollow: { path: 'node_modules' }, exclude: { path: '^display/dist/' } },
};
