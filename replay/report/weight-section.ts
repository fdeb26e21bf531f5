/** Weight and balance as planned, for the brief sheet. Masses add up, and so do moments about the datum; nothing else is computed. */
import type { Mission } from '../../protocol/mission.ts';
import type { FuelState, WeightPlan } from '../../protocol/readiness.ts';
import { html, type Markup, nothing, table } from './sheet.ts';
import { number } from './sheet-words.ts';

/** What lies somewhere: mass, and its arm behind the datum. */
interface Mass {
  massKg: number;
  armM: number;
}

const massOf = (parts: readonly Mass[]): number => parts.reduce((sum, { massKg }) => sum + massKg, 0);
const armOf = (parts: readonly Mass[]): number =>
  parts.reduce((sum, { massKg, armM }) => sum + massKg * armM, 0) / massOf(parts);

export function weightSection({ readiness }: Mission): Markup {
  const plan = readiness?.weight;
  if (plan === undefined) return nothing;
  const { items, tanks, envelope, lateral, planned, knockOffKg } = plan;
  const fuel = (state: FuelState): Mass[] => tanks.map(({ id, armM }) => ({ massKg: state.tanks[id] ?? 0, armM }));
  return html`<h2>Weight and balance as planned</h2>
${table(
  ['Load', 'Mass kg', 'Arm m', 'Lateral m'],
  items.map(({ name, massKg, armM, lateralM }) => [name, number(massKg), number(armM), number(lateralM)]),
)}
<h3>Fuel states</h3>
${table(
  ['State', ...tanks.map(({ name }) => `${name} kg`), 'Mass kg', 'CG m'],
  planned.map((state) => {
    const all = [...items, ...fuel(state)];
    return [
      state.name,
      ...fuel(state).map(({ massKg }) => number(massKg)),
      massOf(all).toFixed(0),
      armOf(all).toFixed(3),
    ];
  }),
)}
<p>${limitsText({ envelope, lateral, knockOffKg } as WeightPlan)}</p>`;
}

function limitsText({ envelope, lateral, knockOffKg }: WeightPlan): string {
  const corners = envelope.map(([armM, massKg]) => `${number(armM)} m at ${number(massKg)} kg`).join(', ');
  const aside = lateral === undefined ? '' : ` Lateral CG at most ${number(lateral)} m either way.`;
  const fuel =
    knockOffKg === undefined ? '' : ` Knock-off fuel ${number(knockOffKg)} kg: the test ends and the aircraft returns.`;
  return `Test envelope, corner by corner: ${corners}.${aside}${fuel}`;
}
