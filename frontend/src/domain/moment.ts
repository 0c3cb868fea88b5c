// Dates and times. `now()` is what goes into a record; `today(zone)` is the shoot's date there; the rest is for the screen.

import type { ClockTime, Day, Moment, ProductionDocument } from "../types";

const two = (n: number): string => String(Math.trunc(Math.abs(n))).padStart(2, "0");

/** The device's clock as ISO 8601 with its offset from UTC. */
export function toMoment(date: Date): Moment {
  const offset = -date.getTimezoneOffset();
  const local = new Date(date.getTime() + offset * 60_000).toISOString().slice(0, -1);
  return `${local}${offset < 0 ? "-" : "+"}${two(offset / 60)}:${two(offset % 60)}`;
}

export const now = (): Moment => toMoment(new Date());

// Making a format takes many times as long as using it, and a screen asks for hundreds of dates.
const formats = new Map<string, Intl.DateTimeFormat>();
function formatOf(options: Intl.DateTimeFormatOptions): Intl.DateTimeFormat {
  const key = JSON.stringify(options);
  const known = formats.get(key) ?? new Intl.DateTimeFormat("en-GB", options);
  formats.set(key, known);
  return known;
}

const partsOf = (date: Date, zone: string): Record<string, string> =>
  Object.fromEntries(
    formatOf({ timeZone: zone, hourCycle: "h23", year: "numeric", month: "2-digit", day: "2-digit", hour: "2-digit", minute: "2-digit", second: "2-digit" })
      .formatToParts(date).map((part) => [part.type, part.value]),
  );

/** A production's time zone; the phone's own until the production's record is here. */
export const zoneOf = (production: ProductionDocument | undefined): string =>
  production ? (production.time_zone ?? "Europe/London") : Intl.DateTimeFormat().resolvedOptions().timeZone;

/** The date in the production's time zone. */
export function dayIn(zone: string, date: Date = new Date()): Day {
  const part = partsOf(date, zone);
  return `${part.year}-${part.month}-${part.day}`;
}

/** "06:30" in the production's time zone. */
export function clockIn(zone: string, moment: Moment): ClockTime {
  const part = partsOf(new Date(moment), zone);
  return `${part.hour}:${part.minute}`;
}

/** Milliseconds by which the production's clocks are ahead of UTC. */
function aheadOfUtc(zone: string, at: number): number {
  const part = partsOf(new Date(at), zone);
  return Date.parse(`${part.year}-${part.month}-${part.day}T${part.hour}:${part.minute}:${part.second}Z`) - at;
}

/**
 * The moments at which the production's clocks show this time on this day, the first first. When they are set back there
 * may be two; when they are set forward past it, it is taken by the time as it was before (RFC 5545, section 3.3.5).
 */
function momentsAt(zone: string, day: Day, time: ClockTime): number[] {
  const wanted = Date.parse(`${day}T${time}:00Z`);
  const [before, after] = [wanted - 86_400_000, wanted + 86_400_000].map((at) => wanted - aheadOfUtc(zone, at)) as [number, number];
  const shown = [...new Set([before, after])].filter((at) => at + aheadOfUtc(zone, at) === wanted);
  return shown.length ? shown.sort((one, other) => one - other) : [before];
}

/** The moment at which the production's clocks show this time on this day; the first, where they do twice. */
export const momentAt = (zone: string, day: Day, time: ClockTime): Moment => toMoment(new Date(momentsAt(zone, day, time)[0]!));

/** The first moment from `start` on at which the production's clocks show this time: that day, or the next after midnight. */
export function momentFrom(zone: string, start: Moment, time: ClockTime): Moment {
  const day = dayIn(zone, new Date(start));
  const minute = Math.floor(Date.parse(start) / 60_000) * 60_000;
  const found = [...momentsAt(zone, day, time), ...momentsAt(zone, addDays(day, 1), time)].find((at) => at >= minute);
  return toMoment(new Date(found!));
}

/** Minutes after midnight. */
export const minutesOf = (time: ClockTime): number => Number(time.slice(0, 2)) * 60 + Number(time.slice(3, 5));

export function addDays(day: Day, days: number): Day {
  return new Date(Date.parse(`${day}T00:00:00Z`) + days * 86_400_000).toISOString().slice(0, 10);
}

/** "Wed 25 Nov" */
export function dayWords(day: Day, options: Intl.DateTimeFormatOptions = { weekday: "short", day: "numeric", month: "short" }): string {
  return formatOf({ ...options, timeZone: "UTC" }).format(new Date(`${day}T00:00:00Z`));
}

/** "2 h 05 min", "40 min" */
export function minutesWords(minutes: number): string {
  const whole = Math.round(minutes);
  return whole < 60 ? `${whole} min` : `${Math.trunc(whole / 60)} h ${two(whole % 60)} min`;
}

export const minutesBetween = (from: Moment, to: Moment): number => (Date.parse(to) - Date.parse(from)) / 60_000;
