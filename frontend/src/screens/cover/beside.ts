// Today's cover and the cover of a changed schedule, side by side.

import type { Id } from "../../types";
import type { ApplianceCover } from "../../answers";
import { type Standing, standingOf } from "./coverWords";

export type Turn = "worse" | "better" | "same";
/** `same` with `changed`: as sure as before, with another order. */
export interface Beside { appliance: Id; today: ApplianceCover | undefined; then: ApplianceCover | undefined; changed: boolean; turn: Turn }

const RANK: Record<Standing, number> = { not_needed: 0, covered: 1, at_risk: 2, short: 3 };
/** Less than can be seen on the screen. */
const SEEN = 5e-4;

function differs(one: ApplianceCover, other: ApplianceCover): boolean {
  return (
    standingOf(one) !== standingOf(other) || Math.abs(one.p_covered - other.p_covered) >= SEEN || one.first_day_at_risk !== other.first_day_at_risk ||
    one.reorder?.copies !== other.reorder?.copies || one.reorder?.pours !== other.reorder?.pours || one.reorder?.latest_start !== other.reorder?.latest_start ||
    one.reorder?.possible !== other.reorder?.possible
  );
}

const lateness = (cover: ApplianceCover): number => (cover.first_day_at_risk === null ? Infinity : Date.parse(cover.first_day_at_risk));

/** How much worse it gets: by how it stands, whether the shop can still help, how sure one is, and until when. Above zero is worse. */
function loss(one: ApplianceCover, other: ApplianceCover): number {
  const standing = RANK[standingOf(other)] - RANK[standingOf(one)];
  const possible = Number(other.reorder?.possible === false) - Number(one.reorder?.possible === false);
  const sure = one.p_covered - other.p_covered;
  const until = Math.sign(lateness(one) - lateness(other)) || 0;
  return standing * 100 + possible * 10 + (Math.abs(sure) >= SEEN ? sure : until * SEEN);
}

/** Every appliance of the two, the worst turn first, then what gets better, then what stays as it is. */
export function besideEachOther(today: readonly ApplianceCover[], then: readonly ApplianceCover[]): Beside[] {
  const before = new Map(today.map((one) => [one.appliance, one]));
  const after = new Map(then.map((one) => [one.appliance, one]));
  return [...new Set([...before.keys(), ...after.keys()])]
    .map((appliance) => {
      const [one, other] = [before.get(appliance), after.get(appliance)];
      const lost = one && other ? loss(one, other) : 0;
      const turn: Turn = lost >= SEEN ? "worse" : lost <= -SEEN ? "better" : "same";
      return { row: { appliance, today: one, then: other, changed: !one || !other || differs(one, other), turn }, lost };
    })
    .sort((one, other) => Number(other.row.changed) - Number(one.row.changed) || other.lost - one.lost)
    .map(({ row }) => row);
}
