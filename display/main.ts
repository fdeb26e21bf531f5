/** Starts the link, the state, the clock and the window; hands what people do to the link. */
import '@fontsource/b612/latin-400.css';
import '@fontsource/b612/latin-700.css';
import './style/page.css';
import { ContextProvider } from '@lit/context';
import { Clock } from './clock.ts';
import { watchContext } from './elements/watch.ts';
import type { DrawingChoice } from './instruments/canvas.ts';
import { Link } from './link/link.ts';
import { RoomWindow } from './pages/room.ts';
import { Flight } from './state/flight.ts';

const flight = new Flight();
const clock = new Clock();
const link = new Link(flight, () => clock.now());

new ContextProvider(document.body, { context: watchContext, initialValue: { flight, clock } });

const room = new RoomWindow();
const wanted = new URLSearchParams(location.search).get('drawing');
if (wanted === 'canvas' || wanted === 'card') room.drawing = wanted satisfies DrawingChoice;
document.body.append(room);

room.addEventListener('act', (event) => link.act(event.detail));
room.addEventListener('playback', (event) => link.playback(event.detail));
room.addEventListener('subscription', (event) => link.subscribe(event.detail));

clock.on('watch', (now) => link.watch(now));
// after the window's own listener, so that what is acknowledged has been drawn
clock.on('frame', () => link.drawn());
clock.start();
link.start();
