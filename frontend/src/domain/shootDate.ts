// Which shoot day it is, also after midnight: a night shoot belongs to the date on which it began. The server has the same
// rule in continuity/schedule/shoot_date.py, and tests/cases/shoot_date.json holds both to it.

import type { Day, ShootDayDocument } from "../types";
import { addDays, clockIn, dayIn, minutesOf, toMoment } from "./moment";

/** For removal, and for a wrap that comes later than planned. Chosen here. */
const AFTER_WRAP = 120;

export type Hours = Pick<ShootDayDocument, "date" | "crew_call" | "wrap">;

/**
 * The date whose shoot day goes on: the date before, while its night shoot does and two hours longer, unless a unit's call
 * of the new date has come; otherwise the date itself. That the day lasts until the wrap is common practice, no source.
 */
export function shootDate(zone: string, days: readonly Hours[], at: Date = new Date()): Day {
  const [date, time] = [dayIn(zone, at), clockIn(zone, toMoment(at))];
  const before = addDays(date, -1);
  if (days.some((day) => day.date === date && day.crew_call <= time)) return date;
  const goesOn = days.some((day) => day.date === before && day.wrap <= day.crew_call && minutesOf(time) < minutesOf(day.wrap) + AFTER_WRAP);
  return goesOn ? before : date;
}
