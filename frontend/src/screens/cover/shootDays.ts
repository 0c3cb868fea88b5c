// Where a scene that is shot again goes, as the server tries it out: continuity/cover/what_if.py.

import type { Day, Rec } from "../../types";

type Row = Pick<Rec<"shoot_day">, "id" | "document">;

/** Call and wrap of a day of its own while no shoot day is planned (common practice, no source). */
const USUAL = { crew_call: "07:00", wrap: "18:00" };

const minutes = (clock: string): string => clock.slice(0, 5);

/** Of a date's shoot days the one that begins first. */
export function firstOf<T extends Row>(days: readonly T[], date: Day): T | undefined {
  return days.filter(({ document }) => document.date === date)
    .sort((one, other) => minutes(one.document.crew_call).localeCompare(minutes(other.document.crew_call)) || one.id.localeCompare(other.id))[0];
}

/** Call and wrap that most shoot days from today on have; of two that are as usual, the earlier call. */
export function usualHours(days: readonly Row[], today: Day): { crew_call: string; wrap: string } {
  const counts = new Map<string, number>();
  for (const { document } of days) {
    if (document.date < today) continue;
    const hours = `${minutes(document.crew_call)} ${minutes(document.wrap)}`;
    counts.set(hours, (counts.get(hours) ?? 0) + 1);
  }
  const most = [...counts].sort(([one, ones], [other, others]) => others - ones || one.localeCompare(other))[0];
  if (!most) return USUAL;
  const [crew_call = USUAL.crew_call, wrap = USUAL.wrap] = most[0].split(" ");
  return { crew_call, wrap };
}
