/** Starts the link, the state, the clock and the window; hands what people do to the link. */
import '@fontsource/b612/latin-400.css';
import '@fontsource/b612/latin-700.css';
import './style/page.css';
import { Clock } from './clock.ts';
import type { DrawingChoice } from './instruments/canvas.ts';
import { Link } from './link/link.ts';
import { RoomWindow } from './pages/room.ts';
import { Flight } from './state/flight.ts';

const flight = new Flight();
const clock = new Clock();
const link = new Link(flight, () => clock.now());

const room = new RoomWindow();
room.give({ flight, clock });
const wanted = new URLSearchParams(location.search).get('drawing');
if (wanted === 'canvas' || wanted === 'card') room.drawing = wanted satisfies DrawingChoice;
document.body.append(room);

room.addEventListener('act', ({ detail }) => link.act(detail.action, detail.answered));
room.addEventListener('kept-call', ({ detail }) =>
  detail.what === 'file' ? link.fileCall(detail.key) : link.dropCall(detail.key),
);
room.addEventListener('playback', (event) => link.playback(event.detail));
room.addEventListener('subscription', (event) => link.subscribe(event.detail));

// a call that waits for the station and that the browser would not keep is lost with the page
window.addEventListener('beforeunload', (event) => {
  if (link.fragile) event.preventDefault();
});

clock.on('watch', (now) => link.watch(now));
// after the window's own listener, so that what is acknowledged has been drawn
clock.on('frame', () => link.drawn());
clock.start();
link.start();
