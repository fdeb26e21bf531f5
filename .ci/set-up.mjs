// Makes a checkout ready: `node .ci/set-up.mjs start` before npm start, `... test` before npm test.
// This file is read by whatever Node there is: no imports and no syntax newer than Node 12, so that an old one gets a
// sentence instead of a syntax error. The work is in steps.mjs.
const mode = process.argv[2] || 'start';
const version = process.versions.node.split('.').map(Number);

if (version[0] < 20 || (version[0] === 20 && version[1] < 11)) {
  console.error(
    'groundchase needs Node.js 20.11 or newer; this is ' +
      process.versions.node +
      ' (' +
      process.execPath +
      ').\nInstall Node.js 22 or 20 from your system or from https://nodejs.org and run the same command again.',
  );
  failed();
} else {
  import('./steps.mjs')
    .then((steps) => steps.setUp(mode))
    .catch((error) => {
      console.error('groundchase set-up: ' + (error.forPeople ? error.message : error.stack));
      failed();
    });
}

// whoever runs the tests reads the last line
function failed() {
  if (mode === 'test') console.log('0 passed, 1 failed');
  process.exitCode = 1;
}
