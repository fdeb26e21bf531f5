import { expect, test } from 'vitest';
import { GRAVITY } from './air.ts';
import { Body } from './body.ts';
import { Skids, STANDING_HEIGHT } from './skids.ts';

const dt = 0.001;

test('left alone it falls, and its energy does not change', () => {
  const body = new Body(1, 1000);
  body.u = 30;
  const energy = () =>
    0.5 * (body.velocityNorth ** 2 + body.velocityEast ** 2 + body.climb ** 2) + GRAVITY * body.height;
  body.run(dt);
  const before = energy();
  for (let i = 0; i < 3000; i++) body.run(dt);
  expect(body.climb).toBeCloseTo(-GRAVITY * 3.001, 2);
  expect(body.height).toBeCloseTo(1000 - 0.5 * GRAVITY * 3.001 ** 2, 0);
  expect(energy() / before).toBeCloseTo(1, 3);
});

test('without moments its angular momentum keeps direction and size in space', () => {
  const body = new Body(0.3, 1000);
  Object.assign(body, { p: 0.4, q: 0.2, r: -0.3 });
  const { ixx, iyy, izz } = body.in;
  const momentum = () => {
    const h = [ixx * body.p, iyy * body.q, izz * body.r] as const;
    const t = body.turn;
    return [0, 3, 6].map((row) => t[row]! * h[0] + t[row + 1]! * h[1] + t[row + 2]! * h[2]);
  };
  const before = momentum();
  for (let i = 0; i < 3000; i++) body.run(dt);
  const size = Math.hypot(...before);
  for (const [i, part] of momentum().entries()) expect(Math.abs(part - before[i]!) / size).toBeLessThan(0.01);
});

test('a force along the nose at a heading of east moves it east', () => {
  const body = new Body(Math.PI / 2, 100);
  body.in.fx = body.in.mass;
  body.in.fz = -body.in.mass * GRAVITY;
  for (let i = 0; i < 1000; i++) body.run(dt);
  expect(body.velocityEast).toBeCloseTo(1, 3);
  expect(body.velocityNorth).toBeCloseTo(0, 6);
  expect(body.nz).toBeCloseTo(1, 6);
  expect(body.climb).toBeCloseTo(0, 6);
});

test('dropped on its skids it comes to rest, carried by both', () => {
  const body = new Body(0, STANDING_HEIGHT + 0.2);
  const skids = new Skids();
  for (let i = 0; i < 6000; i++) {
    const { height, u, v, w, p, q, r, turn } = body;
    Object.assign(skids.in, { height, u, v, w, p, q, r, turn });
    skids.run();
    const { fx, fy, fz, mx, my, mz } = skids;
    Object.assign(body.in, { fx, fy, fz, mx, my, mz });
    body.run(dt);
  }
  const weight = body.in.mass * GRAVITY;
  expect((skids.left + skids.right) / weight).toBeCloseTo(1, 3);
  expect(skids.left / skids.right).toBeCloseTo(1, 3);
  expect(Math.hypot(body.u, body.v, body.w)).toBeLessThan(0.001);
  expect(body.height).toBeLessThan(STANDING_HEIGHT);
});
